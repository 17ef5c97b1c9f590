"""Repair of the record by voice: correct, clear, go to, remove, restore, undo, redo."""

from __future__ import annotations

from collections.abc import Mapping

from voicelog.actions.answers import DETAILS, READINGS
from voicelog.actions.change import Desk, Plan, ask_about, refused
from voicelog.actions.contradictions import doubt_slots
from voicelog.actions.dents import in_trouble
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.wording import read_back, slot_name
from voicelog.vocabulary import DAMAGE_SLOTS

SELECTIONS: Mapping[str, type[ev.DentSelected] | type[ev.DentRemoved] | type[ev.DentRestored]] = {
    "go_to": ev.DentSelected,
    "remove": ev.DentRemoved,
    "restore": ev.DentRestored,
}
SAID = {"go_to": "dent", "remove": "removed dent", "restore": "restored dent"}


def take_correction(note: Note, desk: Desk) -> Plan:
    """The plan for a correction."""
    if note.troubles:
        return in_trouble(note)
    job = desk.job
    if job is None:
        return refused("no job is open", "there is nothing to correct yet")
    for name in SELECTIONS:
        if name in note.slots:
            return _select(name, int(str(note.slots[name].value)), job)
    details = {name: note.slots[name] for name in DETAILS if name in note.slots}
    if details:
        return describe(details, job.id, Plan(), desk)
    if "dent" in note.slots:
        number = int(str(note.slots["dent"].value))
        dent = job.dents.get(number)
        if dent is None:
            return no_dent(number)
    elif desk.dent is None:
        return refused("no dent is open", "there is no dent to correct yet")
    else:
        dent = desk.dent
    return _on_dent(note, dent, job, desk)


def _on_dent(note: Note, dent: Dent, job: Job, desk: Desk) -> Plan:
    plan = Plan()
    if "clear" in note.slots:
        slot = str(note.slots["clear"].value)
        if slot not in dent.fields:
            return refused(f"{slot}: not said", f"{slot_name(slot)} was not said")
        plan.add(ev.Cleared(dent.number, slot), job.id)
        plan.answer = f"{slot_name(slot)} cleared"
        return plan
    slots = {name: note.slots[name] for name in DAMAGE_SLOTS if name in note.slots}
    doubted = doubt_slots(desk, dent, dent.number, slots)
    if slots:
        plan.add(ev.Corrected(dent.number, doubted.slots), job.id)
    for name in READINGS:
        if name not in note.slots:
            continue
        if not (dent.readings if name == "paint_um" else job.references):
            return refused(f"{name}: no reading yet", "there is no reading to correct yet")
        place, number = ("dent", dent.number) if name == "paint_um" else ("reference", None)
        plan.add(ev.Remeasured(place, note.slots[name], number), job.id)  # type: ignore[arg-type]
    if not plan.drafts:
        return refused("a correction names no value", "correct what?")
    said = {name: note.slots[name] for name in (*DAMAGE_SLOTS, *READINGS) if name in note.slots}
    plan.answer = f"corrected, {read_back(said, desk.region)}"
    for name, held in {**said, **doubted.slots}.items():
        if in_doubt(held):
            ask_about(
                desk,
                plan,
                job.id,
                None if name == "reference_um" else dent.number,
                name,
                held,
                doubted.texts.get(name, ""),
            )
    return plan


def _select(name: str, number: int, job: Job) -> Plan:
    dent = job.dents.get(number)
    if dent is None:
        return no_dent(number)
    if name == "go_to" and dent.removed:
        return refused("the dent is removed", f"dent {number} is removed; say restore dent {number}")
    plan = Plan()
    plan.add(SELECTIONS[name](number), job.id)
    plan.answer = f"{SAID[name]} {number}"
    return plan


def no_dent(number: int) -> Plan:
    """There is no dent of that number."""
    return refused(f"there is no dent {number}", f"there is no dent {number}")


def describe(details: Mapping[str, SlotValue], job: str, plan: Plan, desk: Desk) -> Plan:
    """Note plate or VIN; a failed check digit is asked about, not refused."""
    plan.add(ev.JobDescribed(details), job)
    plan.answer = ", ".join(text for text in (plan.answer, read_back(details, desk.region)) if text)
    for name, slot in details.items():
        if in_doubt(slot):
            ask_about(desk, plan, job, None, name, slot)
    return plan


def take_undo(note: Note, desk: Desk) -> Plan:
    """The plan for an undo or a redo, as often as it is said."""
    redo = note.slots["undo"].value == "redo"
    stack = desk.state.redoable if redo else desk.state.undoable
    if not stack:
        what = "put back" if redo else "take back"
        return refused(f"nothing to {what}", f"there is nothing to {what}")
    plan = Plan()
    plan.add(ev.Redone(stack[-1]) if redo else ev.Undone(stack[-1]), None)
    plan.answer = "put back" if redo else "taken back"
    return plan
