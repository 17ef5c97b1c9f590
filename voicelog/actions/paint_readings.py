"""Paint readings: where they go, whether the probe fits, and what they suggest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from voicelog.actions.change import Change, Context, ask_about, job_for, refused
from voicelog.actions.contradictions import Doubted, doubt_reading, with_said
from voicelog.actions.dents import next_number
from voicelog.actions.slots import PLACE, no_dent
from voicelog.jobs.paint import assess
from voicelog.jobs.records import Dent, Field, Job, Reading
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt, nonsense
from voicelog.meaning.note import Slots, SlotValue
from voicelog.meaning.wording import read_back

Spot = Literal["dent", "reference"]
READINGS = ("paint_um", "reference_um")
"""Slots that hold a reading in micrometres: at a dent, and beside the damage."""


def measure(context: Context, slots: Slots, dent: int | None = None) -> Change:
    """Note paint readings.

    Args:
        context: the job; one is opened where there is none.
        slots: `paint_um`, `reference_um` or both, and where said `probe`, `panel`, `end`, `side`.
        dent: its number; by default the open dent, or the one on the panel named, or a new one.
    """
    slots = {name: _limited(name, slot) for name, slot in slots.items()}
    if dent is not None and context.find(dent) is None:
        return no_dent(dent)
    change = context.change(read_back(slots, context.region))
    job = job_for(context, change)
    place = {name: slots[name] for name in PLACE if name in slots}
    number = _dent_at(place, context) if dent is None else dent
    before = context.find(number)
    if number is None and "paint_um" in slots:
        number = next_number(context.job)
        change.add(ev.DentOpened(number), job)
        if place:
            change.add(ev.Noted(number, place), job)
    told = _Told.at(context.job, before or with_said(Dent(number or 0), place))
    for name in READINGS:
        if name in slots:
            told = _measured(slots, name, number, before, told, context, change, job)
    if told.dent.readings:
        change.answer += _what_changed(before, told, context)
    return change


def remeasure(context: Context, name: str, um: SlotValue, dent: int | None = None) -> Change:
    """Correct the last reading: `paint_um` at a dent, or `reference_um` beside the damage."""
    job, there = context.job, context.find(dent) or context.dent
    readings = [] if job is None else job.references
    if name == "paint_um":
        readings = [] if there is None else there.readings
    if job is None or not readings:
        return refused(f"{name}: no reading yet", "there is no reading to correct yet")
    um = _limited(name, um)
    place: Spot = "dent" if name == "paint_um" else "reference"
    number = there.number if there is not None and place == "dent" else None
    change = context.change(f"corrected, {read_back({name: um}, context.region)}")
    change.add(ev.Remeasured(place, um, number), job.id)
    if in_doubt(um):
        ask_about(context, change, job.id, number, name, um)
    return change


def _limited(name: str, slot: SlotValue) -> SlotValue:
    why = "" if slot.doubt else nonsense(name, slot.value)
    return replace(slot, doubt=why) if why else slot


@dataclass(frozen=True)
class _Told:
    """The record with the readings said so far."""

    job: Job
    dent: Dent

    @classmethod
    def at(cls, job: Job | None, dent: Dent) -> _Told:
        """Before the first reading."""
        return cls(job or Job("", 0, ""), dent)

    def with_reading(self, reading: Reading) -> _Told:
        """With one more."""
        if reading.place == "dent":
            return _Told(self.job, with_said(self.dent, {}, [reading]))
        return _Told(replace(self.job, references=[*self.job.references, reading]), self.dent)


def _measured(
    said: Slots,
    name: str,
    number: int | None,
    before: Dent | None,
    told: _Told,
    context: Context,
    change: Change,
    job: str,
) -> _Told:
    """Note one reading, in doubt where its probe does not fit the panel."""
    spot: Spot = "dent" if name == "paint_um" else "reference"
    where = number if spot == "dent" else None
    panel = {part: said[part] for part in PLACE if part in said}
    probe = {"probe": said["probe"]} if "probe" in said else {}
    # A reference is taken beside the dent unless another panel is named.
    beside = panel or {part: known.slot for part, known in told.dent.fields.items() if part in PLACE}
    reading = _reading(spot, said[name], probe, beside)
    after = told.with_reading(reading)
    doubted = Doubted({name: said[name]})
    if number is not None:
        doubted = doubt_reading(context, after.dent, after.job, before, name, said[name])
    slots = probe if spot == "dent" else {**probe, **panel}
    change.add(ev.Measured(spot, doubted.slots[name], where, slots), job)
    if in_doubt(doubted.slots[name]):
        ask_about(context, change, job, where, name, doubted.slots[name], doubted.texts.get(name, ""))
    return told.with_reading(_reading(spot, said[name], probe, panel))


def _reading(
    spot: Spot, um: SlotValue, probe: Mapping[str, SlotValue], place: Mapping[str, SlotValue]
) -> Reading:
    def said(slots: Mapping[str, SlotValue], name: str) -> str | None:
        return str(slots[name].value) if name in slots else None

    panel, end, side = (said(place, name) for name in PLACE)
    return Reading(spot, Field(um), said(probe, "probe"), panel, end, side, "", None)


def _what_changed(before: Dent | None, told: _Told, context: Context) -> str:
    """What the readings suggest by now, where that is notable and was not said yet."""
    was = None if before is None or context.job is None else assess(before, context.job, context.card.paint)
    found = assess(told.dent, told.job, context.card.paint)
    if found is None or not found.notable or (was is not None and was.spoken == found.spoken):
        return ""
    return f": {found.spoken}"


def _dent_at(place: Slots, context: Context) -> int | None:
    """The dent a reading belongs to; None where a new one has to be opened."""
    job, open_dent = context.job, context.dent
    if job is None or open_dent is None:
        return None
    said = {name: slot.value for name, slot in place.items()}
    if not said:
        return open_dent.number
    dents = [open_dent, *reversed([dent for dent in job.listed() if dent is not open_dent])]
    return next(
        (d.number for d in dents if all(d.get(name) in (None, value) for name, value in said.items())), None
    )
