"""Dents as a whole: open, copy, select, remove, restore, order, split, merge, move to another job."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from voicelog.actions.change import NO_JOB, Change, Context, ask_about, differing, job_for, refused
from voicelog.actions.slots import PLACE, ask_all, no_dent, values_of, write_slots
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import NO_SLOTS, Slots, SlotValue
from voicelog.meaning.wording import read_back
from voicelog.vocabulary import CHOICES, LISTS

OTHER_SIDE = {"left": "right", "right": "left"}


def open_dent(context: Context, slots: Slots = NO_SLOTS, risk: SlotValue | None = None) -> Change:
    """Begin a dent record with what was said of it; opens a job where there is none."""
    number = next_number(context.job)
    change = context.change(read_back(slots, context.region) or f"dent {number}")
    job = job_for(context, change)
    change.add(ev.DentOpened(number), job)
    write_slots(context, change, job, Dent(number), slots, risk)
    return change


def next_number(job: Job | None) -> int:
    """The number of the next dent; numbers are never given twice."""
    return 1 if job is None else max(job.dents, default=0) + 1


def copy_dent(
    context: Context, dent: int | None, slots: Slots = NO_SLOTS, *, same_place: bool = False
) -> Change:
    """Copy a dent, to the other side unless another place is named or it is to stay at the same."""
    job, source = context.job, context.find(dent)
    if job is None or source is None:
        return refused("no dent to copy", "there is no dent to copy yet")
    new = dict(slots)
    side = source.fields.get("side")
    if side is not None and not same_place and not any(name in slots for name in PLACE):
        new["side"] = SlotValue(OTHER_SIDE.get(str(side.value), side.value), "same again")
    number = next_number(job)
    change = context.change()
    change.add(ev.DentOpened(number, copied_from=source.number), job.id)
    held = values_of(source)
    new = differing(held, new)
    if new:
        change.add(ev.Corrected(number, new), job.id)
    fields = {**held, **new}
    place = read_back({name: fields[name] for name in PLACE if name in fields}, context.region)
    change.answer = f"dent {number}, {place}, the same" if place else f"dent {number}, the same"
    ask_all(context, change, job.id, number, fields)
    return change


def select_dent(context: Context, dent: int) -> Change:
    """Make a dent the open one."""
    there = context.find(dent)
    if there is not None and there.removed:
        return refused("the dent is removed", f"dent {dent} is removed; say restore dent {dent}")
    return _on_dent(context, dent, ev.DentSelected(dent), f"dent {dent}")


def remove_dent(context: Context, dent: int) -> Change:
    """Let a dent count no longer."""
    there = context.find(dent)
    if there is not None and there.removed:
        return refused("the dent is removed", f"dent {dent} is removed already")
    return _on_dent(context, dent, ev.DentRemoved(dent), f"removed dent {dent}")


def restore_dent(context: Context, dent: int) -> Change:
    """Let a removed dent count again."""
    there = context.find(dent)
    if there is not None and not there.removed:
        return refused("the dent is not removed", f"dent {dent} is not removed")
    return _on_dent(context, dent, ev.DentRestored(dent), f"restored dent {dent}")


def _on_dent(context: Context, dent: int, body: ev.Body, answer: str) -> Change:
    if context.job is None:
        return refused("no job is open", NO_JOB)
    if context.find(dent) is None:
        return no_dent(dent)
    change = context.change(answer)
    change.add(body, context.job.id)
    return change


def move_dent(context: Context, dent: int, by: int) -> Change:
    """Move a dent up (negative) or down the list of those that count."""
    job = context.job
    listed = [] if job is None else [found.number for found in job.listed()]
    if job is None or dent not in listed:
        return no_dent(dent)
    at = listed.index(dent)
    to = min(len(listed) - 1, max(0, at + by))
    if to == at:
        return refused("it is at the end of the list", f"dent {dent} is at the end of the list")
    listed.insert(to, listed.pop(at))
    change = context.change(f"dent {dent} is number {to + 1} of the list")
    change.add(ev.DentsOrdered(tuple(listed)), job.id)
    return change


def split_dent(context: Context, dent: int, stay: int) -> Change:
    """Divide a record of several equal dents: `stay` of them stay, the others get a record of their own.

    Readings, steps and risks stay with the first record.
    """
    job, there = context.job, context.find(dent)
    if job is None or there is None:
        return no_dent(dent)
    count = int(there.get("count") or 1)
    if count < 2:
        return refused("count: one dent", f"dent {dent} is one dent; there is nothing to split")
    if not 0 < stay < count:
        return refused("count: out of range", f"between 1 and {count - 1} dents can stay")
    new = next_number(job)
    change = context.change(f"dent {dent} split, {count - stay} are dent {new}")
    change.add(ev.DentOpened(new, copied_from=dent), job.id)
    for number, share in ((dent, stay), (new, count - stay)):
        change.add(ev.Corrected(number, {"count": SlotValue(share)}), job.id)
    return change


def merge_dents(context: Context, dent: int, other: int) -> Change:
    """Two records become one; the other is removed.

    What only the other knows fills the one kept; lists are united, counts of equal dents added; where
    both know a value and differ, the one kept stands in doubt with the other's as alternative.
    """
    job, kept, gone = context.job, context.find(dent), context.find(other)
    if job is None or kept is None or gone is None:
        return no_dent(other if kept else dent)
    if kept is gone or gone.removed:
        return refused("nothing to join", f"dent {other} cannot be joined into dent {dent}")
    change = context.change(f"dent {other} joined into dent {dent}")
    filled = {name: slot for name, slot in values_of(gone).items() if name not in kept.fields}
    both = [name for name in gone.fields if name in kept.fields]
    joined = {name: slot for name in both if (slot := _joined(name, kept, gone)) is not None}
    if filled:
        change.add(ev.Noted(dent, filled), job.id)
    if joined:
        change.add(ev.Corrected(dent, joined), job.id)
    _carry(context, change, gone, dent, job.id)
    change.add(ev.DentRemoved(other), job.id)
    return change


def _joined(slot: str, kept: Dent, other: Dent) -> SlotValue | None:
    """The value of a slot that both know; None where nothing changes."""
    mine, theirs = kept.fields[slot].slot, other.fields[slot].slot
    if slot == "count" and mine.confirmed and theirs.confirmed:
        return SlotValue(int(str(mine.value)) + int(str(theirs.value)))
    if slot in LISTS:
        said = {*cast(tuple[str, ...], mine.value), *cast(tuple[str, ...], theirs.value)}
        united = tuple(item for item in CHOICES[slot] if item in said)
        return None if united == mine.value else replace(mine, value=united)
    possible = (theirs.value, *theirs.alternatives)
    new = tuple(value for value in possible if value not in (mine.value, *mine.alternatives))
    if not new:
        return None
    doubt = f"dent {other.number} said otherwise"
    return replace(mine, alternatives=(*mine.alternatives, *new), doubt=doubt)


def _carry(context: Context, change: Change, dent: Dent, to: int, job: str) -> None:
    """Readings, steps and risks of a dent, written again for the dent that takes its place."""
    for reading in dent.readings:
        slots = {"probe": SlotValue(reading.probe)} if reading.probe else {}
        change.add(ev.Measured("dent", reading.um.slot, to, slots), job)
        if in_doubt(reading.um.slot):
            ask_about(context, change, job, to, "paint_um", reading.um.slot)
    for step in dent.steps:
        said = {name: SlotValue(value) for name, value in {"step": step.step, **step.details}.items()}
        change.add(ev.Stepped(said, to), job)
    if dent.risks:
        change.add(ev.RiskNoted(tuple(dent.risks), to), job)


def reassign_dent(context: Context, dent: int, target: str) -> Change:
    """Move a dent to another job, by that job's id; there it gets a number of its own."""
    job, there, other = context.job, context.find(dent), context.state.jobs.get(target)
    if job is None or there is None or there.removed:
        return no_dent(dent)
    if other is None or other.id == job.id:
        return refused("no other job", "there is no other job to move it to")
    new = next_number(other)
    change = context.change(f"now dent {new} of {other.title}")
    change.add(ev.DentOpened(new), other.id)
    # A dent that another belongs to is named by its number, which means nothing in the other job.
    slots = {name: slot for name, slot in values_of(there).items() if name != "belongs_to"}
    if slots:
        change.add(ev.Noted(new, slots), other.id)
    _carry(context, change, there, new, other.id)
    change.add(ev.DentRemoved(dent), job.id)
    return change
