"""What is being heard or was heard last, and what was answered."""

from __future__ import annotations

import re

from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget

from voicelog.journal.events import Heard
from voicelog.session.reports import Utterance
from voicelog.vocabulary import Decision

DECISION_MARKS: dict[Decision, tuple[str, str]] = {
    "accepted": ("✓", "taken down"),
    "asked": ("?", "asked"),
    "rejected": ("✕", "not taken"),
    "kept": ("~", "kept as words"),
}
"""Mark and words by decision."""


class Hearing(Widget):
    """Partials replace each other; the finished utterance replaces the partial."""

    DEFAULT_CSS = "Hearing { height: 2; width: 1fr; }"

    partial: reactive[str] = reactive("")
    last: reactive[Utterance | None] = reactive(None)
    trouble: reactive[str] = reactive("")

    def render(self) -> Text:
        """Both lines."""
        first, second = self.lines()
        return Text.assemble(first, "\n", second, no_wrap=True, overflow="ellipsis")

    def lines(self) -> tuple[Text, Text]:
        """What was heard, and what was said back."""
        if self.trouble:
            second = Text(f"▲ {self.trouble}", style="bold reverse")
        elif self.last is None:
            second = Text("")
        else:
            mark, word = DECISION_MARKS[self.last.decision]
            second = Text.assemble((f"{mark} {word}  ", "bold"), self.last.answer)
        if self.partial:
            return Text.assemble(("… ", "bold"), self.partial, "▏"), second
        return Text.assemble(("› ", "bold"), said_of(self.last.heard) if self.last else "–"), second


def said_of(said: Heard) -> str:
    """The words as understood; what the ear wrote down freely where it differs; and what no slot holds."""
    freely = said.heard if _plain(said.heard) != _plain(said.words) else ""
    parts = (
        said.words or freely or "–",
        f"heard “{freely}”" if freely and said.words else "",
        f"kept: {'; '.join(said.kept)}" if said.kept else "",
    )
    return "  ·  ".join(part for part in parts if part)


def _plain(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.lower()))
