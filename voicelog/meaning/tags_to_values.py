"""From a parse of the grammar to what was said, slot by slot and in the order of speech."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from voicelog.grammar import Node, Parse
from voicelog.meaning.identify import spelled
from voicelog.meaning.lengths import coin_mm, length_mm, thickness_um
from voicelog.meaning.note import Value
from voicelog.meaning.numbers import number_of
from voicelog.meaning.region import Region
from voicelog.vocabulary import CHOICES, FLAGS, SAID

Tags = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Said:
    """One value as it was said.

    Three slots are none of the vocabulary: "oops" begins a self-correction, "label" says which
    slot the number after it belongs to ("width thirty"), "same" is the paint reading before it.
    """

    slot: str
    value: Value
    words: str
    start: int
    """Index of the first word; values said with the same words share it."""


def kind_of(parse: Parse) -> str:
    """The kind named by the tags; "none" where no tag names one."""
    for name, value, _, _ in _tags_under(parse.root):
        if name == "kind":
            return value
    return "none"


def said_in(parse: Parse, words: Sequence[str], region: Region) -> list[Said]:
    """Every value of a parse in the order of speech."""
    found: list[Said] = []

    def add(slot: str, value: Value | None, start: int, end: int) -> None:
        if value is not None:
            found.append(Said(slot, value, " ".join(words[start:end]), start))

    def visit(node: Node) -> None:
        evaluate = _EVALUATORS.get(_short(node.rule))
        if evaluate is not None:
            tags = [(name, value) for name, value, _, _ in _tags_under(node)]
            for slot, worth in evaluate(tags, region):
                add(slot, worth, node.start, node.end)
            return
        for name, value, start, end in _own_tags(node):
            if name in SAID:
                add(name, " ".join(words[start:end]), start, end)
            elif name in CHOICES or name in FLAGS or name in ("oops", "label"):
                add(name, _plain_value(name, value, region), start, end)
        for child in node.children:
            visit(child)

    visit(parse.root)
    return sorted(found, key=lambda said: said.start)


def _plain_value(name: str, value: str, region: Region) -> Value:
    if name == "side":
        return region.side(value)
    return True if name in FLAGS or name == "oops" else value


def _quantity(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    """Length and width, or a count; a single size called wide is the width."""
    names = [name for name, _ in tags]
    if "count" in names:
        yield "count", number_of(tags)
        return
    unit = next((value for name, value in tags if name == "unit"), "mm")
    if "by" in names:
        cut = names.index("by")
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
    spot = dict(tags)["spot"]
    if spot == "same":
        yield "oops", True
    yield spot, thickness_um(tags)


def _select(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield dict(tags)["act"], number_of(tags)


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


def _car(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield dict(tags)["id"], spelled(tags)


def _found(tags: Tags, region: Region) -> Iterator[tuple[str, Value | None]]:
    yield "find", spelled(tags)


_EVALUATORS: dict[str, Callable[[Tags, Region], Iterator[tuple[str, Value | None]]]] = {
    "quantity": _quantity,
    "bare": _quantity,
    "last_bare": _quantity,
    "pair": _quantity,
    "coin_size": _coin,
    "tie": _number("belongs_to"),
    "which": _number("dent"),
    "select": _select,
    "pulls": _number("pulls"),
    "few_pulls": _number("pulls"),
    "tab_size": _number("tab_mm"),
    "discount": _number("discount_percent"),
    "job_number": _number("go_to_job"),
    "found": _found,
    "paid_sum": _number("paid"),
    "deposit_sum": _number("deposit"),
    "dent_price": _number("price"),
    "job_price": _number("agreed_price"),
    "extra_sum": _number("extra_amount"),
    "answer_number": _both_ways,
    "spot": _spot,
    "car": _car,
}
"""How the tags under a rule of the grammar become slot values."""


def _short(rule: str) -> str:
    return rule.rpartition(".")[2]


def _split(text: str) -> tuple[str, str]:
    name, _, value = text.partition("=")
    return name.strip(), value.strip()


def _own_tags(node: Node) -> Iterator[tuple[str, str, int, int]]:
    for tag in node.tags:
        yield (*_split(tag.text), tag.start, tag.end)


def _tags_under(node: Node) -> list[tuple[str, str, int, int]]:
    """Tags of a node and all below it, as (name, value, start, end), by the word they end on."""
    tags = list(_own_tags(node))
    for child in node.children:
        tags.extend(_tags_under(child))
    return sorted(tags, key=lambda tag: (tag[3], tag[2]))
