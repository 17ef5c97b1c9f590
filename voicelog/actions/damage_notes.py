"""Where a damage note goes: on with the open dent, into a new one, or into a question.

Nothing is overwritten in silence: a place that differs or a panel named again with another size
opens the next dent; a second value without a panel is asked about.
"""

from __future__ import annotations

from dataclasses import replace

from voicelog.actions.change import Change, Context, differing, job_for, refused
from voicelog.actions.dents import copy_dent, open_dent
from voicelog.actions.hail import copy_panel, finish_panel, say_of_panel, take_count
from voicelog.actions.risks import note_risks
from voicelog.actions.slots import PLACE, sure_again, values_of, write_slots
from voicelog.actions.steps_and_time import note_step
from voicelog.jobs.records import Dent
from voicelog.meaning.merge import Merged, merge
from voicelog.meaning.note import Note, Slots, SlotValue
from voicelog.meaning.place import place_of
from voicelog.meaning.wording import read_back
from voicelog.vocabulary import DAMAGE_SLOTS


def take_damage(note: Note, context: Context) -> Change:
    """What a damage note changes."""
    slots = {name: note.slots[name] for name in DAMAGE_SLOTS if name in note.slots}
    risk = note.slots.get("risk")
    if risk is None and slots.keys() == {"method"} and _is_done(context):
        return note_step(
            context, {"step": replace(slots["method"], value=_STEPS[str(slots["method"].value)])}
        )
    if "done" in slots:
        return finish_panel(context, place_of(slots))
    if "panel_again" in note.slots:
        return copy_panel(context)
    another = "next_dent" in note.slots
    counts = any(name in slots for name in ("hail", "oversize", "square_mm", "density")) or (
        "count" in slots and not another and context.dent is not None and context.dent.of_hail
    )
    taken = take_count(context, slots, another=another) if counts else say_of_panel(context, slots)
    if taken is not None:
        return taken
    if "same_again" in note.slots:
        return copy_dent(context, None if context.dent is None else context.dent.number, slots)
    dent = None if another and not counts else context.dent
    if dent is None or _is_another(dent, slots):
        return open_dent(context, slots, risk)
    if risk is not None and not slots:
        return note_risks(context, risk, dent.number)
    held = values_of(dent)
    slots = sure_again(held, slots)
    merged = merge(held, slots)
    if merged.conflicts and ("panel" in slots or "count" in merged.conflicts):
        return open_dent(context, slots, risk)
    if "panel" in slots and "length_mm" in slots and _says_nothing_new(held, slots):
        text = f"that is dent {dent.number} already; for another one say next dent"
        return refused("the same note as the open dent", text)
    change = context.change(read_back(slots, context.region))
    job = job_for(context, change)
    write_slots(context, change, job, dent, differing(held, _joined(slots, held, merged)), risk)
    return change


_STEPS = {"glue-pull": "pull", "mixed": "push"}
_STEPS |= {method: method for method in ("push", "lever", "knock-down")}
"""The step that tries a method."""


def _is_done(context: Context) -> bool:
    """Whether a method by itself tells what is being done: the dent's own is known, and agreed or begun."""
    job, dent = context.job, context.dent
    if job is None or dent is None or "method" not in dent.fields:
        return False
    return job.timer.state == "running" or any(quote.accepted for quote in job.quotes)


def _joined(slots: Slots, held: Slots, merged: Merged) -> Slots:
    """What the dent holds with the note: a contradicted value stays in force, the new one beside it."""
    return {
        name: _kept_first(held[name], merged.fields[name])
        if name in merged.conflicts
        else merged.fields[name]
        for name in slots
    }


def _is_another(dent: Dent, slots: Slots) -> bool:
    """Whether the place named is not that of the open dent."""
    if "panel" not in slots:
        return "panel" in dent.fields and any(_differs(dent, slots, name) for name in ("end", "side"))
    return any(_differs(dent, slots, name) for name in PLACE)


def _differs(dent: Dent, slots: Slots, name: str) -> bool:
    if name not in slots or name not in dent.fields:
        return False
    said, there = slots[name], dent.fields[name].slot
    possible = {there.value, *there.alternatives}
    return not possible & {said.value, *said.alternatives}


def _says_nothing_new(held: Slots, slots: Slots) -> bool:
    return all(
        name in held and held[name] == replace(slot, words=held[name].words) for name, slot in slots.items()
    )


def _kept_first(there: SlotValue, merged: SlotValue) -> SlotValue:
    possible = (merged.value, *merged.alternatives)
    rest = tuple(value for value in possible if value != there.value)
    return SlotValue(there.value, there.words, rest, merged.doubt)
