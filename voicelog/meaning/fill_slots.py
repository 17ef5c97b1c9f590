"""What was said, in the order of speech, brought into slots: labels, self-corrections, second values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import cast

from voicelog.meaning.note import SlotValue, Trouble
from voicelog.meaning.tags_to_values import Said
from voicelog.vocabulary import CHOICES, LISTS

RANGE = "a range was said"
"""Why a value has two ends: no contradiction."""

_DENIED = ("features", "access", "take_off", "risk", "shape")


def _denied(oops: Said, item: Said) -> tuple[Trouble, ...]:
    """What "no" may also deny: "no filler" says that there is none."""
    if oops.words != "no" or item.slot not in _DENIED:
        return ()
    return (Trouble(item.slot, f"whether it is {item.words} or not is not clear"),)


_SHALLOW_MM = 10
"""A size below this said right before "deep" may be the depth: "five mil deep"."""


def doubt_depth(said: Sequence[Said], slots: dict[str, SlotValue]) -> None:
    """Doubt, in place, a small length said right before "deep"."""
    for size, depth in pairwise(said):
        held = slots.get("length_mm")
        adjacent = depth.value == "deep" and size.start + len(size.words.split()) == depth.start
        small = size.slot == "length_mm" and cast(int, size.value) < _SHALLOW_MM
        if adjacent and small and held is not None and size.value == held.value:
            slots["length_mm"] = replace(held, doubt=f"{size.words} may be how deep it is")


def settle_end(slots: dict[str, SlotValue]) -> None:
    """Fill, in place, the end that a panel's name implies where no other was said: "driver's door"."""
    implied = slots.pop("implied_end", None)
    if implied is not None:
        slots.setdefault("end", implied)


def labelled(said: list[Said]) -> tuple[list[Said], tuple[Trouble, ...]]:
    """Give each labelled number its slot ("width thirty") and drop the labels."""
    kept: list[Said] = []
    troubles: list[Trouble] = []
    label: Said | None = None
    for item in [*said, None]:
        if label is not None and not _fits(label, item):
            troubles.append(Trouble(str(label.value), f'nothing was said for "{label.words}"'))
        elif label is not None and item is not None and label.value in _MEASURES:
            words = f"{label.words} {item.words}"
            item = replace(item, slot=str(label.value), words=words, start=label.start)
        label = item if item is not None and item.slot == "label" else None
        if item is not None and label is None:
            kept.append(item)
    return kept, tuple(troubles)


_PLACE = ("panel", "end", "side")


_MEASURES = ("length_mm", "width_mm", "count")
_ANNOUNCED = {"panel": _PLACE, "access": ("access", "take_off")} | dict.fromkeys(_MEASURES, _MEASURES)
"""Slots that may follow a label, where they are more than the one it names."""


def _fits(label: Said, item: Said | None) -> bool:
    """Whether what follows a label can be what it announces."""
    name = str(label.value)
    return item is not None and item.slot in _ANNOUNCED.get(name, (name,))


def fill_slots(said: Iterable[Said]) -> tuple[dict[str, SlotValue], tuple[Trouble, ...]]:
    """Slots from values in the order of speech; a second value counts only after a self-correction."""
    slots: dict[str, SlotValue] = {}
    troubles: list[Trouble] = []
    before: dict[str, Said] = {}
    begun: Said | None = None
    first: Said | None = None
    """The "no" just said, and the first value after it while its correction lasts."""
    low: Said | None = None
    """The lower end of a range just said."""
    for item in said:
        if item.slot == "oops":
            begun, first = item, None
            continue
        if item.slot == "range":
            low = item
            continue
        if low is not None:
            item, low = _up_to(item, low), None
        if begun is not None:
            troubles += _denied(begun, item)
            begun, first = None, item
            if item.slot not in slots and not (item.slot in _PLACE and slots.keys() & set(_PLACE)):
                troubles.append(Trouble(item.slot, "there is nothing before it to correct"))
        elif first is not None and not _goes_with(item, first):
            first = None
        dropped = before.get(item.slot) if first is not None else None
        slots[item.slot] = _joined(slots.get(item.slot), item, dropped)
        before[item.slot] = item
    if begun is not None:
        troubles.append(Trouble("", "a correction was begun without a value"))
    return slots, tuple(troubles)


def _up_to(item: Said, low: Said) -> Said:
    """The upper end of a range: the lower one is what else it may be, so that both are priced."""
    if not isinstance(item.value, int) or item.slot not in ("count", "length_mm"):
        return item
    return replace(item, words=f"{low.words} to {item.words}", others=(low.value,))


_JOINED = ("place", "tool")
"""Slots in words: what is said of them later is added."""


def _goes_with(item: Said, first: Said) -> bool:
    """Whether a value still belongs to a correction: said with the same words, or the rest of a place."""
    return item.start == first.start or (item.slot in _PLACE and first.slot in _PLACE)


def _joined(before: SlotValue | None, item: Said, dropped: Said | None) -> SlotValue:
    """A slot after one more value; `dropped` is the value that a self-correction takes back."""
    if item.slot in LISTS:
        earlier = () if before is None else cast(tuple[str, ...], before.value)
        kept = [value for value in earlier if dropped is None or value != dropped.value]
        words = item.words if before is None or dropped is not None else f"{before.words} {item.words}"
        return SlotValue(ordered(item.slot, (*kept, str(item.value))), words)
    if item.slot in _JOINED and before is not None and dropped is None:
        return SlotValue(f"{before.value}, {item.value}", f"{before.words} {item.words}")
    if before is None or dropped is not None or before.value == item.value:
        return SlotValue(item.value, item.words, item.others, RANGE if item.others else "")
    others = tuple(value for value in (*before.alternatives, item.value) if value != before.value)
    return replace(before, alternatives=others, doubt="two values were said")


def ordered(slot: str, values: Iterable[str]) -> tuple[str, ...]:
    """Values of a list slot without repeats, in the order of the vocabulary, then those of one's own."""
    given = dict.fromkeys(values)
    known = CHOICES[slot]
    return (*(value for value in known if value in given), *(value for value in given if value not in known))
