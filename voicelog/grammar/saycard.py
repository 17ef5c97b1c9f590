"""The say-card: everything that can be said, read off the grammar itself.

A doc comment above a rule is its title, with examples behind a colon.  What stands before a tag
`{slot=value}` is a way to say that value.
"""

from __future__ import annotations

import itertools
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass

from jinja2 import Environment, select_autoescape

from voicelog.grammar.load import Grammar
from voicelog.grammar.tree import Choice, Expansion, Ref, Repeat, Rule, Sequence, Tagged, Word

MOST_FORMS = 12
"""Ways to say one value that are listed."""
LEFT_OUT = frozenset({"kind", "act", "spot", "id", "unit", "label", "end_of"})
"""Tags that only steer the parser: their words are in the examples."""
UNNAMED = frozenset(
    {"coin", "undo", "control", "question", "next_dent", "same_again", "clear", "job", "quote"}
)
"""Slots whose values are names for the program only: not shown beside the words."""
SKIPPED = frozenset({"numbers", "fillers", "spelling"})
"""Files whose words are shown by example only, or are known to everybody (a spelling alphabet)."""
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
        return said if self.slot in UNNAMED or plain in self.forms else f"{said} → {plain}"


@dataclass(frozen=True)
class SayGroup:
    """What one rule offers."""

    title: str
    examples: str
    entries: tuple[SayEntry, ...]

    def lines(self) -> list[str]:
        """One line for each value with several forms; the others share a line."""
        texts = [(entry, entry.text()) for entry in self.entries]
        several = [text for entry, text in texts if len(entry.forms) > 1]
        single = [text for entry, text in texts if len(entry.forms) == 1]
        return [*several, *([" | ".join(single)] if single else [])]


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
        return "\n".join(lines) + "\n"

    def to_html(self) -> str:
        """The card as one self-contained HTML page for A4."""
        return _TEMPLATE.render(card=self)


def _head(group: SayGroup) -> str:
    return group.title.upper() + (f"  {group.examples}" if group.examples else "")


def say_card(grammar: Grammar) -> SayCard:
    """Derive the card from a grammar; rules in the order in which their files are imported."""
    order = {path.stem: place for place, path in enumerate(grammar.files)}
    rules = sorted(grammar.rules.items(), key=lambda item: order.get(item[0].partition(".")[0], len(order)))
    groups = []
    for name, rule in rules:
        topic = name.rpartition(".")[0]
        if not rule.doc or topic in SKIPPED or topic == grammar.name:
            continue
        group = _group(rule)
        if group.entries or group.examples:
            groups.append(group)
    return SayCard("What can be said to voicelog", tuple(groups), (MIL, SPELLING))


def _group(rule: Rule) -> SayGroup:
    title, _, examples = " ".join(rule.doc.split()).partition(":")
    forms: dict[tuple[str, str], dict[str, None]] = {}
    for slot, value, part in _tagged(rule.part):
        found = forms.setdefault((slot, value), {})
        for form in itertools.islice(_forms(part), MOST_FORMS):
            found.setdefault(form)
    entries = tuple(SayEntry(*name, tuple(found)) for name, found in forms.items() if found)
    return SayGroup(title.strip(), examples.strip(), entries)


def _tagged(part: Expansion) -> Iterator[tuple[str, str, Expansion]]:
    """Every (slot, value, part) that a slot tag stands on, not looking into other rules."""
    match part:
        case Tagged(inner, tags):
            slot, _, value = tags[0].partition("=")
            if value and slot.strip() not in LEFT_OUT:
                yield slot.strip(), value.strip(), inner
            else:
                yield from _tagged(inner)
        case Sequence(parts):
            for item in parts:
                yield from _tagged(item)
        case Choice(branches):
            for branch in branches:
                yield from _branch(branch.part)
        case Repeat(inner):
            yield from _tagged(inner)
        case _:
            return


def _branch(part: Expansion) -> Iterator[tuple[str, str, Expansion]]:
    """A branch that ends in a tag: its words before the tag belong to the tagged part."""
    if isinstance(part, Sequence):
        for place, item in enumerate(part.parts):
            before = tuple(word for word in part.parts[:place] if _is_said(word))
            if isinstance(item, Tagged) and before:
                for slot, value, inner in _tagged(item):
                    yield slot, value, Sequence((*before, inner))
                return
    yield from _tagged(part)


def _is_said(part: Expansion) -> bool:
    """Whether a part is words of this rule that cannot be left out."""
    if isinstance(part, Choice):
        return all(isinstance(branch.part, Word) for branch in part.branches)
    return isinstance(part, Word)


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
            yield "…"
        case _:
            return


_TEMPLATE = Environment(autoescape=select_autoescape(default=True), trim_blocks=True).from_string(
    """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<title>{{ card.title }}</title>
<style>
@page { size: A4; margin: 9mm; }
body { font: 7.8pt/1.22 "DejaVu Sans Condensed", Arial, sans-serif; color: #111; margin: 0; }
h1 { font-size: 13pt; margin: 0 0 2mm; border-bottom: 1.2pt solid #111; }
main { columns: 3; column-gap: 5mm; }
section { break-inside: avoid; margin: 0 0 1.6mm; }
h2 { font-size: 8.2pt; margin: 0; border-bottom: .5pt solid #777; }
p, ul { margin: .3mm 0 0; padding: 0; }
em { font-style: normal; color: #333; }
li { list-style: none; padding-left: 2.4mm; text-indent: -2.4mm; }
footer { margin-top: 2mm; border-top: .5pt solid #777; font-weight: bold; }
</style>
</head>
<body>
<h1>{{ card.title }}</h1>
<main>
{% for group in card.groups %}
<section>
<h2>{{ group.title }}</h2>
{% if group.examples %}<p><em>{{ group.examples }}</em></p>{% endif %}
{% if group.lines() %}<ul>
{% for line in group.lines() %}<li>{{ line }}</li>
{% endfor %}</ul>{% endif %}
</section>
{% endfor %}
</main>
<footer>{% for remark in card.remarks %}<p>{{ remark }}</p>{% endfor %}</footer>
</body>
</html>
"""
)
