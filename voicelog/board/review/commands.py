"""Every action of the review desk, once: key, name, help.  Footer, palette and help read this table.

The actions themselves are methods `do_<name>` of the screen's parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from textual.binding import Binding, BindingType

Where = Literal["desk", "utterances", "dents", "fields", "quotes"]
"""The part whose footer lists the action; the palette offers every action everywhere."""


@dataclass(frozen=True)
class Command:
    """One action."""

    name: str
    key: str
    title: str
    """Two words at most, for the footer."""
    help: str
    where: Where = "desk"


COMMANDS: tuple[Command, ...] = (
    Command("next_open", "n", "Next open", "Go to the next thing to settle"),
    Command("details", "c", "Car", "Type car, customer and notes"),
    Command("papers", "w", "Papers", "Write the papers of this job"),
    Command("next_job", "right_square_bracket", "Next job", "Go to the next job"),
    Command("previous_job", "left_square_bracket", "Last job", "Go to the job before"),
    Command("earlier", "comma", "Day before", "Show the day before"),
    Command("later", "full_stop", "Day after", "Show the day after"),
    Command("all_days", "asterisk", "All days", "Show every day or one day"),
    Command("note", "colon", "Note", "Type a note as it would be said, for the dent looked at"),
    Command("of_dent", "i", "Of dent", "What was said was about another dent: give it there"),
    Command("new_dent", "plus", "New dent", "Begin a dent by hand"),
    Command("drop", "k", "Drop", "Drop the question looked at, else the open one; its value stays in doubt"),
    Command("discount", "percent_sign", "Discount", "Give a discount on this job"),
    Command("tell", "t", "Told", "The customer was told of every risk noted"),
    Command("finish", "f", "Finished", "Call this job finished"),
    Command("play", "p", "Play", "Play what was said", "utterances"),
    Command("alternatives", "a", "Alternatives", "Choose what else may have been said", "utterances"),
    Command("order", "o", "Order", "Open ones first, or as they were said", "utterances"),
    Command("split", "s", "Split", "Make two records of one", "dents"),
    Command("merge", "m", "Merge", "Two records are about the same dent: join them", "dents"),
    Command("up", "K,shift+up", "Up", "Move the dent up the list", "dents"),
    Command("down", "J,shift+down", "Down", "Move the dent down the list", "dents"),
    Command("reassign", "j", "Other job", "Move the dent to another job", "dents"),
    Command("remove", "d,delete", "Remove", "Let the dent count no longer", "dents"),
    Command("restore", "D", "Restore", "Let a removed dent count again", "dents"),
    Command("measure", "r", "Reading", "Type a paint reading at the dent", "dents"),
    Command("edit", "e", "Edit", "Type or choose the value", "fields"),
    Command("choose", "v", "Settle", "Choose between the values in doubt", "fields"),
    Command("history", "h", "History", "Show every value the field had", "fields"),
    Command("clear", "x", "Clear", "Take the value away", "fields"),
    Command("hand_over", "g", "Give", "Give the value to another dent", "fields"),
    Command("invoice", "I", "Invoice", "Issue the invoice of this job"),
    Command("pay", "P", "Paid", "Note money that came in for this job"),
    Command("strike", "X", "Strike", "A time, step, risk, reading, photo or memo is wrong: let it not count"),
    Command("worked", "T", "Worked", "Type the minutes worked on this job"),
    Command("words", "u", "Kept words", "Words kept of it: a value, a memo or nothing", "utterances"),
    Command("find", "slash", "Find", "Show only what holds these words: utterances, or jobs on their tab"),
    Command("quote", "q", "Quote", "Give a quote at today's figures", "quotes"),
    Command("accept", "y", "Accepted", "The customer accepted the quote", "quotes"),
    Command("decline", "z", "Declined", "The customer declined the quote", "quotes"),
)
TABS = (("1", "utterances", "Said"), ("2", "dents", "Dents"), ("3", "price", "Price"),
        ("4", "quotes", "Quotes"), ("5", "days", "Days"), ("6", "open", "In doubt"),
        ("7", "every", "Jobs"))  # fmt: skip
"""Key, id and title of each tab."""

NEEDS_TAB = {"play": "utterances", "alternatives": "utterances", "of_dent": "utterances",
             "words": "utterances", "accept": "quotes", "decline": "quotes", "drop": "open"}  # fmt: skip
"""Commands on the row looked at in a tab: nothing is done to a row that is not in sight."""

_SHOWN_ON_DESK = ("next_open", "details", "papers")


def key_name(command: Command) -> str:
    """The first key of a command as it is printed on a keyboard."""
    names = {"right_square_bracket": "]", "left_square_bracket": "[", "comma": ",", "full_stop": ".",
             "asterisk": "*", "colon": ":", "plus": "+", "percent_sign": "%", "slash": "/"}  # fmt: skip
    first = command.key.split(",")[0]
    return names.get(first, first)


def bindings(where: Where) -> list[BindingType]:
    """The key bindings of a part; the desk has those of every part, so that no key is dead by focus."""
    found: list[BindingType] = [
        Binding(
            command.key, f"screen.do('{command.name}')", command.title, tooltip=command.help,
            show=command.where == where != "desk" or command.name in _SHOWN_ON_DESK,
        )
        for command in COMMANDS
        if where in ("desk", command.where)
    ]  # fmt: skip
    if where == "desk":
        found += [Binding(key, f"tab('{name}')", title, show=False) for key, name, title in TABS]
    return found
