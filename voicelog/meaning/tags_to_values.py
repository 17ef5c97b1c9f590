"""From a parse of the grammar to what was said, slot by slot and in the order of speech."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from voicelog.grammar import Node
from voicelog.meaning.identify import spelled
from voicelog.meaning.lengths import coin_mm, length_mm, thickness_um
from voicelog.meaning.note import Value
from voicelog.meaning.numbers import number_of, tidy
from voicelog.meaning.region import Region
from voicelog.vocabulary import CHOICES, FLAGS

Tags = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Said:
    """One value as it was said.

    Some slots are none of the vocabulary: "oops" begins a self-correction, "label" says which
    slot the number after it belongs to ("width thirty"), "kept" holds words that fill no slot,
    "turns" is such a word that may turn the meaning of others ("not", "unless"), "weak" marks a value
    whose word often means something else ("right", "back"), "loose" one in any words, "tally" begins a
    count of its own, "implied_end" an end that holds unless another is said ("driver's door").
    """

    slot: str
    value: Value
    words: str
    start: int
    """Index of the first word; values said with the same words share it."""
    denied: bool = False
    """Said not to be so: "no crease"."""
    others: tuple[Value, ...] = ()
    """What else it may be: the lower end of a range."""


def kind_of(root: Node) -> str:
    """The kind named by the tags below a node; "none" where no tag names one."""
    for name, value, _, _ in _tags_under(root):
        if name == "kind":
            return value
    return "none"


STEERING = frozenset({"oops", "label", "kept", "turns", "implied_end", "mended", "weak", "tally", "loose"})
"""Tags that are no slot and steer how slots are filled."""


def said_in(root: Node, words: Sequence[str], region: Region) -> list[Said]:
    """Every value below a node in the order of speech."""
    found: list[Said] = []

    def visit(node: Node, denied: bool) -> None:
        denied = denied or _short(node.rule) == "denied"

        def add(slot: str, value: Value | None, start: int, end: int) -> None:
            if value is not None:
                found.append(Said(slot, value, " ".join(words[start:end]), start, denied))

        evaluate = _EVALUATORS.get(_short(node.rule))
        if evaluate is not None:
            tags = [(name, value) for name, value, _, _ in _tags_under(node)]
            for slot, worth in evaluate(tags, region):
                add(slot, worth, node.start, node.end)
            return
        for name, value, start, end in _own_tags(node):
            if start == end:
                # A tag on words that were left out stands on all of its rule.
                start, end = node.start, node.end
            if name in CHOICES or name in FLAGS or name in STEERING:
                add(name, _plain_value(name, value, region), start, end)
            elif name == "text":
                said = " ".join(words[start:end])
                add(value, said.title() if value in _NAMES else said, start, end)
            elif name in _FILLED:
                inner = [(n, v) for n, v, s, e in _tags_under(node) if start <= s and e <= end]
                filled = _FILLED[name](inner)
                named = isinstance(filled, str) and value in _NAMES
                add(value, str(filled).title() if named else filled, start, end)
        for child in node.children:
            visit(child, denied)

    visit(root, denied=False)
    return sorted(found, key=lambda said: said.start)


_NAMES = frozenset({"customer", "make", "model", "insurer", "technician"})


def _hours(tags: Tags) -> Value | None:
    """Minutes of a part of an hour: "an hour and a half"."""
    parts = [Fraction(value) for name, value in tags if name == "hour"]
    minutes = sum(parts) * 60
    return tidy(Decimal(minutes.numerator) / minutes.denominator) if parts else None


_FILLED: dict[str, Callable[[Tags], Value | None]] = {
    "number": number_of,
    "spelled": lambda tags: spelled(tags) or None,
    "hours": _hours,
}
"""How `{number=slot}` and the like make a value of the tags within what they stand on."""


def _plain_value(name: str, value: str, region: Region) -> Value:
    if name == "side":
        return region.side(value)
    return True if name in FLAGS or not value else value


def _quantity(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    """Length and width, or a count; a single size called wide is the width."""
    names = [name for name, _ in tags]
    if "count" in names:
        yield "count", number_of(tags)
        yield from _coin(tags, region)
        return
    unit = next((value for name, value in tags if name == "unit"), "mm")
    if "times" in names:
        cut = names.index("times")
        yield "length_mm", length_mm(tags[:cut], unit)
        yield "width_mm", length_mm(tags[cut:], unit)
    else:
        yield "width_mm" if "width" in names else "length_mm", length_mm(tags)


def _coin(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    for name, value in tags:
        if name == "coin":
            yield "length_mm", coin_mm(value, region.country)


def _number(slot: str) -> Callable[[Tags, Region], Iterator[tuple[str, Value | None]]]:
    def evaluate(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
        yield slot, number_of(tags)

    return evaluate


def _spot(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    """A reading at a spot; after "no" it is the reading before it said again."""
    names = dict(tags)
    if "oops" in names:
        yield "oops", True
    yield names["spot"], thickness_um(tags)


def _select(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    names = dict(tags)
    yield names["act"], "last" if "last" in names else number_of(tags)


def _square(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield "square_mm", length_mm(tags)


def _both_ways(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    """A number said once, or in words and by its figures."""
    parts: list[list[tuple[str, str]]] = [[]]
    for tag in tags:
        if tag[0] == "again":
            parts.append([])
        else:
            parts[-1].append(tag)
    for part in parts:
        yield "number", number_of(part)


def _figure_of(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield dict(tags)["amount"], number_of(tags)


def _car(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield dict(tags)["id"], spelled(tags)


def _found(slot: str) -> Callable[[Tags, Region], Iterator[tuple[str, Value | None]]]:
    return lambda tags, region: iter([(slot, spelled(tags))])


_EVALUATORS: dict[str, Callable[[Tags, Region], Iterator[tuple[str, Value | None]]]] = {
    "quantity": _quantity,
    "bare": _quantity,
    "last_bare": _quantity,
    "pair": _quantity,
    "square": _square,
    "area": _number("area_m2"),
    "coin_size": _coin,
    "tie": _number("belongs_to"),
    "which": _number("dent"),
    "select": _select,
    "select_said": _select,
    "bare_width": _quantity,
    "by_size": _quantity,
    "side_size": _quantity,
    "bare_coin": _coin,
    "quarter_coin": _coin,
    "counted": _quantity,
    "pulls": _number("pulls"),
    "few_pulls": _number("pulls"),
    "tab_size": _number("tab_mm"),
    "discount": _number("discount_percent"),
    "job_number": _number("go_to_job"),
    "found": _found("find"),
    "found_stock": _found("find_stock"),
    "joined_job": _number("join"),
    "whole_job": _number("join_to"),
    "paid_sum": _number("paid"),
    "deposit_sum": _number("deposit"),
    "dent_price": _number("price"),
    "job_price": _number("agreed_price"),
    "extra_sum": _number("extra_amount"),
    "answer_number": _both_ways,
    "spot": _spot,
    "spot_loosely": _spot,
    "car": _car,
    "figure_of": _figure_of,
    "aside": lambda tags, region: iter(()),
    "old": lambda tags, region: iter(()),
    "aside_by": lambda tags, region: iter(()),
    "minutes": _number("minutes"),
}
"""How the tags under a rule of the grammar become slot values."""


@cache
def _short(rule: str) -> str:
    return rule.rpartition(".")[2]


@cache
def _split(text: str) -> tuple[str, str]:
    name, _, value = text.partition("=")
    return name.strip(), value.strip()


def _own_tags(node: Node) -> Iterator[tuple[str, str, int, int]]:
    for tag in node.tags:
        yield (*_split(tag.text), tag.start, tag.end)


def _tags_under(node: Node) -> list[tuple[str, str, int, int]]:
    """Tags of a node and all below it, as (name, value, start, end), by the word they end on."""
    tags = ((*_split(tag.text), tag.start, tag.end) for tag in node.all_tags())
    return sorted(tags, key=lambda tag: (tag[3], tag[2]))
