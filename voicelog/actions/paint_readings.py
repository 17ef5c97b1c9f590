"""Paint readings: where they go, whether the probe fits, and what they suggest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from voicelog.actions.answers import READINGS
from voicelog.actions.change import Desk, Plan, ask_about, job_for
from voicelog.actions.contradictions import Doubted, doubt_reading, with_said
from voicelog.actions.dents import PLACE, in_trouble, next_number
from voicelog.jobs.paint import assess
from voicelog.jobs.records import Dent, Field, Job, Reading
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.wording import read_back

Spot = Literal["dent", "reference"]


def take_reading(note: Note, desk: Desk) -> Plan:
    """Paint readings; one at a dent goes to the open dent, or to the one on the panel named."""
    if note.troubles:
        return in_trouble(note)
    plan = Plan()
    job = job_for(desk, plan)
    place = {name: note.slots[name] for name in PLACE if name in note.slots}
    number = _dent_at(note, desk)
    before = None if number is None or desk.job is None else desk.job.dents[number]
    if number is None and "paint_um" in note.slots:
        number = next_number(desk.job)
        plan.add(ev.DentOpened(number), job)
        if place:
            plan.add(ev.Noted(number, place), job)
    told = _Told.at(desk.job, before or with_said(Dent(number or 0), place))
    for name in READINGS:
        if name in note.slots:
            told = _measured(note, name, number, before, told, desk, plan, job)
    plan.answer = read_back(note.slots, desk.region)
    if told.dent.readings:
        plan.answer += _what_changed(before, told, desk)
    return plan


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
    note: Note,
    name: str,
    number: int | None,
    before: Dent | None,
    told: _Told,
    desk: Desk,
    plan: Plan,
    job: str,
) -> _Told:
    """Note one reading, in doubt where its probe does not fit the panel."""
    said, spot = note.slots[name], _spot(name)
    where = number if spot == "dent" else None
    panel = {part: note.slots[part] for part in PLACE if part in note.slots}
    probe = {"probe": note.slots["probe"]} if "probe" in note.slots else {}
    # A reference is taken beside the dent unless another panel is named.
    beside = panel or {part: known.slot for part, known in told.dent.fields.items() if part in PLACE}
    reading = _reading(spot, said, probe, beside)
    after = told.with_reading(reading)
    doubted = Doubted({name: said})
    if number is not None:
        doubted = doubt_reading(desk, after.dent, after.job, before, name, said)
    slots = probe if spot == "dent" else {**probe, **panel}
    plan.add(ev.Measured(spot, doubted.slots[name], where, slots), job)
    if in_doubt(doubted.slots[name]):
        ask_about(desk, plan, job, where, name, doubted.slots[name], doubted.texts.get(name, ""))
    return told.with_reading(_reading(spot, said, probe, panel))


def _spot(name: str) -> Spot:
    return "dent" if name == "paint_um" else "reference"


def _reading(
    spot: Spot, um: SlotValue, probe: Mapping[str, SlotValue], place: Mapping[str, SlotValue]
) -> Reading:
    def said(slots: Mapping[str, SlotValue], name: str) -> str | None:
        return str(slots[name].value) if name in slots else None

    panel, end, side = (said(place, name) for name in PLACE)
    return Reading(spot, Field(um), said(probe, "probe"), panel, end, side, "", None)


def _what_changed(before: Dent | None, told: _Told, desk: Desk) -> str:
    """What the readings suggest by now, where that is notable and was not said yet."""
    was = None if before is None or desk.job is None else assess(before, desk.job, desk.card.paint)
    found = assess(told.dent, told.job, desk.card.paint)
    if found is None or not found.notable or (was is not None and was.spoken == found.spoken):
        return ""
    return f": {found.spoken}"


def _dent_at(note: Note, desk: Desk) -> int | None:
    """The dent a reading belongs to; None where a new one has to be opened."""
    job, open_dent = desk.job, desk.dent
    if job is None or open_dent is None:
        return None
    said = {name: note.slots[name].value for name in PLACE if name in note.slots}
    if not said:
        return open_dent.number
    dents = [open_dent, *reversed([dent for dent in job.listed() if dent is not open_dent])]
    return next(
        (d.number for d in dents if all(d.get(name) in (None, value) for name, value in said.items())), None
    )
