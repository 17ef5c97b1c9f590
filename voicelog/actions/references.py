"""What words mean only beside the record: "the same door", "the last one", "no, forty", "not on the edge"."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType
from typing import cast

from voicelog.actions.change import Context
from voicelog.actions.dents import OTHER_SIDE, next_number
from voicelog.jobs.records import Dent
from voicelog.journal import events as ev
from voicelog.meaning.note import Note, SlotValue
from voicelog.vocabulary import LISTS

SIZES = ("length_mm", "count", "width_mm")
_SMALLEST_MM = 4
"""A number below this that is said anew is a count, no size."""
_COPIED = {"panel": ("panel", "end", "side"), "side": ("side",), "size": ("length_mm", "width_mm")}


def resolved(note: Note, context: Context) -> Note:
    """The note with everything that hangs on the record said out."""
    note = _last_dent(note, context)
    note = _same(note, context)
    note = _named_dent(note, context)
    note = _number(note, context)
    return _taken_away(note, context)


def _with(note: Note, slots: dict[str, SlotValue], **changed: object) -> Note:
    return replace(note, slots=MappingProxyType(slots), **changed)  # type: ignore[arg-type]


def _last_dent(note: Note, context: Context) -> Note:
    """ "The last one" by its number."""
    for name in ("go_to", "remove", "restore", "dent"):
        slot = note.slots.get(name)
        if slot is not None and slot.value == "last" and context.job is not None:
            listed = [dent.number for dent in context.job.dents.values() if not dent.removed]
            if listed:
                note = note.with_slot(name, replace(slot, value=max(listed)))
    return note


def _same(note: Note, context: Context) -> Note:
    """ "Same door", "the other side", "same size": what the open dent holds."""
    said, dent = note.slots.get("same"), context.dent
    if said is None:
        return note
    slots = {name: slot for name, slot in note.slots.items() if name != "same"}
    if dent is None:
        return _with(note, slots)
    for what in cast(tuple[str, ...], said.value):
        for name in _COPIED.get(what, ()):
            if name in dent.fields:
                slots.setdefault(name, replace(dent.fields[name].slot, words=said.words))
        side = dent.get("side")
        if what == "other-side" and side in OTHER_SIDE:
            slots["side"] = SlotValue(OTHER_SIDE[side], said.words)
    return _with(note, slots)


def _named_dent(note: Note, context: Context) -> Note:
    """ "Third one, rear wing" opens a dent where there are two, else it goes on with the third."""
    named = note.slots.get("dent")
    if named is None or note.kind not in ("damage", "correction"):
        return note
    known = context.job is not None and named.value in context.job.dents
    begins = {"panel", "length_mm"} & note.slots.keys()
    if not known and begins and named.value == next_number(context.job):
        slots = {name: slot for name, slot in note.slots.items() if name != "dent"}
        return _with(note, {**slots, "next_dent": SlotValue(True, named.words)}, kind="damage")
    return replace(note, kind="correction") if known else note


def _number(note: Note, context: Context) -> Note:
    """ "No, one two four" mends the number that was said last, whatever it was."""
    number = note.slots.get("number")
    if number is None or note.kind != "correction" or not isinstance(number.value, int | Decimal):
        return note
    slots = {name: slot for name, slot in note.slots.items() if name != "number"}
    name = _meant(number.value, note.denied.get("number"), context)
    if name is None:
        return note
    return _with(note, {**slots, name: number})


def _meant(number: int | Decimal, denied: SlotValue | None, context: Context) -> str | None:
    dent = context.dent
    if denied is not None and dent is not None:
        held = [name for name in SIZES if dent.get(name) in (denied.value, number)]
        return held[0] if held else None
    found = list(_said_last(context))
    if number < _SMALLEST_MM and dent is not None and not {"paint_um", "reference_um"} & set(found):
        return "count"
    return found[0] if found else None


def _said_last(context: Context) -> Iterator[str]:
    """Slots of the last note that held a number, the latest first."""
    for group in reversed(context.state.undoable):
        names = []
        for event in context.recall(group):
            body = event.body
            if isinstance(body, ev.Measured | ev.Remeasured):
                names.append("paint_um" if body.place == "dent" else "reference_um")
            elif isinstance(body, ev.Noted | ev.Corrected):
                names += [name for name in SIZES[::-1] if name in body.slots]
        if names:
            yield from reversed(names)
            return


def _taken_away(note: Note, context: Context) -> Note:
    """ "Not on the body line" takes away what the open dent holds; what it does not hold is left out."""
    dent = context.dent
    if dent is None or note.kind not in ("damage", "correction"):
        return note
    held = {name: slot for name, slot in note.denied.items() if _holds(dent, name, slot)}
    if not held:
        return note
    slots = dict(note.slots)
    for name, slot in held.items():
        if name in LISTS:
            gone = cast(tuple[str, ...], slot.value)
            left = tuple(value for value in cast(tuple[str, ...], dent.get(name)) if value not in gone)
            more = cast(tuple[str, ...], slots[name].value) if name in slots else ()
            if left or more:
                slots[name] = SlotValue((*left, *more), slot.words)
                continue
        if name not in slots:
            slots["clear"] = SlotValue(name, slot.words)
    return _with(note, slots, kind="correction")


def _holds(dent: Dent, name: str, denied: SlotValue) -> bool:
    value = dent.get(name)
    if isinstance(value, tuple) and isinstance(denied.value, tuple):
        return bool(set(value) & set(denied.value))
    return bool(value == denied.value)
