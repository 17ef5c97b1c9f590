"""The say-card: everything that can be said, read off the grammar itself.

A doc comment above a rule is its title, with examples behind a colon; one that begins with
"@hidden" keeps the rule off the card, for what people say anyhow.  What stands before a tag
`{slot=value}` is a way to say that value, with "…" for words of another rule.  A rule without a
doc comment belongs to the rules of its file that refer to it.
"""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from voicelog.grammar.load import Rules
from voicelog.grammar.once import is_limit
from voicelog.grammar.own_words import TOOL
from voicelog.grammar.tree import Choice, Expansion, Ref, Repeat, Rule, Sequence, Tagged, Word, may_be_silent

MOST_FORMS = 6
"""Ways to say one value that are listed."""
KINDS = frozenset({"kind", "spot"})
"""Tags that say what a sentence is about: their words stand in the examples, or are listed without any."""
LEFT_OUT = KINDS | {
    "unit",
    "label",
    "part",
    "digit",
    "mended",
    "kept",
    "number",
    "text",
    "spelled",
    "hours",
    "hour",
}
"""Tags that only steer the parser."""
UNNAMED = LEFT_OUT | frozenset(
    {
        "coin",
        "undo",
        "control",
        "question",
        "next_dent",
        "same_again",
        "clear",
        "job",
        "quote",
        "act",
        "id",
        "amount",
        "by",
    }
)
"""Slots whose values are names for the program only: not shown beside the words."""
SKIPPED = frozenset({"numbers", "fillers", "spelling", "dictation"})
"""Files whose words are shown by example only, or are known to everybody (a spelling alphabet)."""
HIDDEN = "@hidden"
NO_BREAK = "\u00a0"
ELSEWHERE = "…"
"""Stands for the words of another rule."""
MIL = "In a length a mil is a millimetre; in a paint reading a mil is a thousandth of an inch."
SPELLING = (
    "Plates and VINs: spell with the ICAO alphabet (alfa, bravo, charlie …) and single digits; niner is nine."
)


@dataclass(frozen=True)
class SayEntry:
    """One value and the ways to say it."""

    slot: str
    value: str
    forms: tuple[str, ...]

    def text(self) -> str:
        """The forms, and the value where it is none of them."""
        said = " · ".join(self.forms)
        plain = self.value.replace("-", " ")
        return said if self.slot in UNNAMED or _names(self.forms, plain) else f"{said} → {plain}"


@dataclass(frozen=True)
class SayGroup:
    """What one rule offers."""

    title: str
    examples: str
    entries: tuple[SayEntry, ...]

    def lines(self) -> list[str]:
        """One line for each value with several forms; the others share a line.

        The blanks within a form are no-break spaces, so that a line ends between two forms only.
        """
        texts = [(entry, _kept_together(entry.text())) for entry in self.entries]
        several = [text for entry, text in texts if len(entry.forms) > 1]
        single = [text for entry, text in texts if len(entry.forms) == 1]
        return [*several, *([f"{NO_BREAK}| ".join(single)] if single else [])]


@dataclass(frozen=True)
class SayCard:
    """The whole card."""

    title: str
    groups: tuple[SayGroup, ...]
    remarks: tuple[str, ...]

    def to_text(self, width: int = 100) -> str:
        """The card for a terminal, no line longer than `width` (at least 40)."""
        width = max(40, width)
        lines = [self.title, ""]
        for group in self.groups:
            lines += textwrap.wrap(_head(group), width)
            for line in group.lines():
                lines += textwrap.wrap(line, width, initial_indent="  ", subsequent_indent="      ")
        lines.append("")
        for remark in self.remarks:
            lines += textwrap.wrap(remark, width)
        return "\n".join(lines).replace(NO_BREAK, " ") + "\n"


def _names(forms: tuple[str, ...], plain: str) -> bool:
    """Whether some form has all the words of a value's name, so that nobody need be told the name."""
    return any(set(plain.split()) <= set(form.split()) for form in forms)


def _kept_together(text: str) -> str:
    return text.replace(" ", NO_BREAK).replace(f"·{NO_BREAK}", "· ").replace(f"→{NO_BREAK}", "→ ")


def _head(group: SayGroup) -> str:
    return group.title.upper() + (f"  {group.examples}" if group.examples else "")


def say_card(grammar: Rules) -> SayCard:
    """Derive the card from a grammar; rules in the order in which their files are imported."""
    order = {path.stem: place for place, path in enumerate(grammar.files)}
    rules = sorted(grammar.rules.items(), key=lambda item: order.get(item[0].partition(".")[0], len(order)))
    reader = _Reader(grammar)
    groups = []
    for name, rule in rules:
        topic = name.rpartition(".")[0]
        if not rule.doc or rule.doc.startswith(HIDDEN) or topic in SKIPPED or topic == grammar.name:
            continue
        group = reader.group(name, rule)
        if group.entries or group.examples:
            groups.append(group)
    own = " · ".join(word.phrase for word in grammar.own if word.beside == TOOL)
    tools = (f"Tools of your own: {own}.",) if own else ()
    return SayCard("What can be said to voicelog", tuple(groups), (MIL, SPELLING, *tools))


_Said = Iterator[tuple[str, str, Expansion]]
"""Slot, value, and what is said for it."""


class _Reader:
    """Reads values and the ways to say them off the rules."""

    def __init__(self, grammar: Rules) -> None:
        self.rules = grammar.rules

    def group(self, name: str, rule: Rule) -> SayGroup:
        title, _, examples = " ".join(rule.doc.split()).partition(":")
        said = list(self._tagged(rule.part, (name,)))
        entries = _entries(said, LEFT_OUT)
        if not entries and not examples:
            entries = _entries(said or [("kind", "", rule.part)], LEFT_OUT - KINDS)
        return SayGroup(title.strip(), examples.strip(), entries)

    def _tagged(self, part: Expansion, within: tuple[str, ...]) -> _Said:
        """Every value tagged in a part and in the rules that have no title of their own."""
        match part:
            case Tagged(inner, tags):
                meant = [tag for tag in tags if not is_limit(tag)] or [""]
                slot, _, value = meant[0].partition("=")
                if value:
                    yield slot.strip(), value.strip(), inner
                else:
                    yield from self._tagged(inner, within)
            case Sequence(parts):
                for place, item in enumerate(parts):
                    for slot, value, inner in self._tagged(item, within):
                        yield slot, value, _in_place(parts, place, inner)
            case Choice(branches):
                for branch in branches:
                    yield from self._tagged(branch.part, within)
            case Repeat(inner):
                yield from self._tagged(inner, within)
            case Ref(name) if name not in within and name.rpartition(".")[0] == within[0].rpartition(".")[0]:
                if not self.rules[name].doc:
                    yield from self._tagged(self.rules[name].part, (*within, name))
            case _:
                return


def _entries(said: list[tuple[str, str, Expansion]], left_out: frozenset[str]) -> tuple[SayEntry, ...]:
    forms: dict[tuple[str, str], dict[str, None]] = {}
    for slot, value, part in said:
        if slot not in left_out:
            found = forms.setdefault((slot, value), {})
            found.update(dict.fromkeys(itertools.islice(map(_tidy, _forms(part)), MOST_FORMS)))
    entries = (SayEntry(*name, _ordered(name[1], found)) for name, found in forms.items())
    return tuple(entry for entry in entries if entry.forms)


def _tidy(form: str) -> str:
    """A form with one ellipsis for several rules in a row."""
    return " ".join(word for word, _ in itertools.groupby(form.split()))


def _ordered(value: str, forms: Iterable[str]) -> tuple[str, ...]:
    """The value's own name first; without what says no word of its own or only adds an ellipsis."""
    known = set(forms)
    kept = [
        form
        for form in forms
        if form not in ("", ELSEWHERE) and form.removesuffix(f" {ELSEWHERE}") not in known - {form}
    ]
    return tuple(sorted(kept, key=lambda form: form != value.replace("-", " ")))


def _in_place(parts: tuple[Expansion, ...], place: int, said: Expansion) -> Expansion:
    """What is said for a value, with the words that must stand before and after it."""
    item = parts[place]
    if isinstance(item, Ref) or (not isinstance(item, Tagged) and may_be_silent(item)):
        return said
    before = [part for part in parts[:place] if _is_said(part)]
    if len(before) < sum(not may_be_silent(part) for part in parts[:place]):
        before = []
    after = list(
        itertools.takewhile(lambda part: isinstance(part, Ref) or _is_said(part), parts[place + 1 :])
    )
    return Sequence((*before, said, *after))


def _is_said(part: Expansion) -> bool:
    """Whether a part is words of this rule, or of another, that cannot be left out."""
    if isinstance(part, Choice):
        return all(_is_said(branch.part) for branch in part.branches)
    if isinstance(part, Sequence):
        return part.parts != () and all(map(_is_said, part.parts))
    return isinstance(part, Word | Ref)


def _forms(part: Expansion) -> Iterator[str]:
    """Ways to say a part, without the words of other rules."""
    match part:
        case Word(text):
            yield text
        case Tagged(inner):
            yield from _forms(inner)
        case Choice(branches):
            for branch in branches:
                yield from _forms(branch.part)
        case Sequence(parts):
            for said in itertools.product(*(list(_forms(item)) or [""] for item in parts)):
                yield " ".join(word for word in said if word)
        case Repeat(inner, least):
            if not least:
                yield ""
            yield from _forms(inner)
        case Ref():
            yield ELSEWHERE
        case _:
            return
