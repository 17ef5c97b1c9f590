"""Where a damage note goes: on with the open dent, into a new one, or into a question.

Nothing is overwritten in silence: a place that differs or a panel named again with another size
opens the next dent; a second value without a panel is asked about.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from voicelog.actions.change import Desk, Plan, ask_about, job_for, question_id, refused
from voicelog.actions.contradictions import Doubted, doubt_slots
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt, nonsense
from voicelog.meaning.merge import Merged, merge
from voicelog.meaning.note import Note, SlotValue, Value
from voicelog.meaning.wording import missing_text, read_back
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS, PANELS

PLACE = ("panel", "end", "side")
OTHER_SIDE = {"left": "right", "right": "left"}


def take_damage(note: Note, desk: Desk) -> Plan:
    """The plan for a damage note."""
    if note.troubles:
        return in_trouble(note)
    slots = {name: note.slots[name] for name in DAMAGE_SLOTS if name in note.slots}
    if "same_again" in note.slots:
        return _same_again(slots, desk)
    dent = None if "next_dent" in note.slots else desk.dent
    if dent is not None and _is_another(dent, slots):
        dent = None
    if dent is None:
        return _into_new(note, slots, desk)
    held = {name: field.slot for name, field in dent.fields.items()}
    slots = _limited(slots, str(dent.get("panel") or ""))
    merged = merge(held, slots)
    if merged.conflicts and ("panel" in slots or "count" in merged.conflicts):
        return _into_new(note, slots, desk)
    if "panel" in slots and "length_mm" in slots and _says_nothing_new(held, slots):
        text = f"that is dent {dent.number} already; for another one say next dent"
        return refused("the same note as the open dent", text)
    return _into_open(note, slots, merged, dent, desk)


def _limited(slots: Mapping[str, SlotValue], panel: str) -> dict[str, SlotValue]:
    """Doubt what makes no sense on the panel of the open dent."""
    found = {}
    for name, slot in slots.items():
        why = "" if slot.doubt or not panel else nonsense(name, slot.value, panel)
        found[name] = replace(slot, doubt=why) if why else slot
    return found


def in_trouble(note: Note) -> Plan:
    """A note that contradicts itself, or that may have been another one, changes nothing."""
    trouble = note.troubles[0]
    return refused(f"{trouble.slot}: {trouble.reason}" if trouble.slot else trouble.reason, trouble.reason)


def _is_another(dent: Dent, slots: Mapping[str, SlotValue]) -> bool:
    """Whether the place named is not that of the open dent."""
    if "panel" not in slots:
        return "panel" in dent.fields and any(_differs(dent, slots, name) for name in ("end", "side"))
    return any(_differs(dent, slots, name) for name in PLACE)


def _differs(dent: Dent, slots: Mapping[str, SlotValue], name: str) -> bool:
    if name not in slots or name not in dent.fields:
        return False
    said, there = slots[name], dent.fields[name].slot
    possible = {there.value, *there.alternatives}
    return not possible & {said.value, *said.alternatives}


def _says_nothing_new(held: Mapping[str, SlotValue], slots: Mapping[str, SlotValue]) -> bool:
    return all(
        name in held and held[name] == replace(slot, words=held[name].words) for name, slot in slots.items()
    )


def _into_new(note: Note, slots: Mapping[str, SlotValue], desk: Desk) -> Plan:
    plan = Plan()
    job = job_for(desk, plan)
    number = next_number(desk.job)
    plan.add(ev.DentOpened(number), job)
    doubted = doubt_slots(desk, None, number, slots)
    if slots:
        plan.add(ev.Noted(number, doubted.slots), job)
    plan.answer = read_back(slots, desk.region) or f"dent {number}"
    return _completed(note, doubted, doubted.slots, plan, job, number, desk)


def _into_open(note: Note, slots: Mapping[str, SlotValue], merged: Merged, dent: Dent, desk: Desk) -> Plan:
    plan = Plan()
    job = job_for(desk, plan)
    changed = {
        name: merged.fields[name]
        for name in slots
        if name not in dent.fields or merged.fields[name] != dent.fields[name].slot
    }
    doubted = doubt_slots(desk, dent, dent.number, changed)
    changed = dict(doubted.slots)
    new = {name: slot for name, slot in changed.items() if name not in dent.fields}
    # A contradicted value stays in force; the one just said becomes its alternative.
    other = {
        name: _kept_first(dent.fields[name].slot, slot) if name in merged.conflicts else slot
        for name, slot in changed.items()
        if name in dent.fields
    }
    if new:
        plan.add(ev.Noted(dent.number, new), job)
    if other:
        plan.add(ev.Corrected(dent.number, other), job)
    plan.answer = read_back(slots, desk.region)
    held = {name: field.slot for name, field in dent.fields.items()}
    doubted = Doubted({**new, **other}, doubted.texts)
    return _completed(note, doubted, {**held, **new, **other}, plan, job, dent.number, desk)


def _kept_first(there: SlotValue, merged: SlotValue) -> SlotValue:
    possible = (merged.value, *merged.alternatives)
    rest = tuple(value for value in possible if value != there.value)
    return SlotValue(there.value, there.words, rest, merged.doubt)


def _completed(
    note: Note,
    changed: Doubted,
    fields: Mapping[str, SlotValue],
    plan: Plan,
    job: str,
    dent: int,
    desk: Desk,
) -> Plan:
    """Risks, then the questions: what is in doubt, then the place that is still open."""
    risk = note.slots.get("risk")
    if risk is not None:
        risks = (
            tuple(str(value) for value in risk.value) if isinstance(risk.value, tuple) else (str(risk.value),)
        )
        plan.add(ev.RiskNoted(risks, dent, risk.words), job)
        plan.answer = ", ".join(
            text for text in (plan.answer, read_back({"risk": risk}, desk.region)) if text
        )
    for name, slot in changed.slots.items():
        if in_doubt(slot):
            ask_about(desk, plan, job, dent, name, slot, changed.texts.get(name, ""))
    if "panel" in changed.slots:
        for name in missing_place(fields):
            choices: tuple[Value, ...] = CHOICES[name]
            place = read_back({"panel": fields["panel"]}, desk.region)
            text = f"{place}: {missing_text(name, desk.region)}"
            plan.ask(ev.Asked(question_id(desk, plan), name, choices, text, dent, "not said"), job)
    return plan


def missing_place(fields: Mapping[str, SlotValue]) -> list[str]:
    """Ends and sides that have to be said before the panel is one panel of the car."""
    if "panel" not in fields:
        return []
    panel = PANELS[str(fields["panel"].value)]
    missing = ["end"] if panel.ends and "end" not in fields else []
    return missing + (["side"] if panel.sides and "side" not in fields else [])


def next_number(job: Job | None) -> int:
    """The number of the next dent; numbers are never given twice."""
    return 1 if job is None else max(job.dents, default=0) + 1


def _same_again(slots: Mapping[str, SlotValue], desk: Desk) -> Plan:
    """Copy the open dent, to the other side unless another place is named."""
    dent, job = desk.dent, desk.job
    if dent is None or job is None:
        return refused("no dent to copy", "there is no dent to copy yet")
    new = dict(slots)
    side = dent.fields.get("side")
    if side is not None and not any(name in slots for name in PLACE):
        new["side"] = SlotValue(OTHER_SIDE.get(str(side.value), side.value), "same again")
    number = next_number(job)
    plan = Plan()
    plan.add(ev.DentOpened(number, copied_from=dent.number), job.id)
    held = {name: field.slot for name, field in dent.fields.items()}
    if new:
        plan.add(ev.Corrected(number, new), job.id)
    fields = {**held, **new}
    plan.answer = (
        f"dent {number}, {read_back({n: fields[n] for n in PLACE if n in fields}, desk.region)}, the same"
    )
    for name, slot in fields.items():
        if in_doubt(slot):
            ask_about(desk, plan, job.id, number, name, slot)
    return plan
