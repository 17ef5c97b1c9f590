"""Values of a dent: set, clear, give away.  What is doubtful about them is asked about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from voicelog.actions.change import NO_CHANGE, NO_JOB, Change, Context, ask_about, differing, refused
from voicelog.actions.contradictions import doubt_slots
from voicelog.jobs.records import Dent
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt, nonsense
from voicelog.meaning.note import Slots, SlotValue
from voicelog.meaning.place import missing_place, place_of
from voicelog.meaning.wording import missing_text, read_back, slot_name
from voicelog.vocabulary import CHOICES

PLACE = ("panel", "end", "side")


def set_slots(context: Context, dent: int, slots: Slots) -> Change:
    """Write values into a dent; what they replace stays in its history.

    A value in doubt that is written again as it stands is thereby settled.
    """
    job, there = context.job, context.find(dent)
    if job is None:
        return refused("no job is open", NO_JOB)
    if there is None:
        return no_dent(dent)
    changed = differing(values_of(there), sure_again(values_of(there), slots))
    if not changed:
        text = f"that stands there already: {read_back(slots, context.region)}" if slots else "correct what?"
        return refused(NO_CHANGE, text)
    change = context.change(f"corrected, {read_back(slots, context.region)}")
    write_slots(context, change, job.id, there, changed)
    return change


def clear_slot(context: Context, dent: int, slot: str) -> Change:
    """Take a value away."""
    job, there = context.job, context.find(dent)
    if job is None or there is None:
        return no_dent(dent)
    if slot not in there.fields:
        return refused(f"{slot}: not said", f"{slot_name(slot)} was not said")
    change = context.change(f"{slot_name(slot)} cleared")
    change.add(ev.Cleared(dent, slot), job.id)
    return change


def hand_over(
    context: Context, dent: int, slots: Sequence[str], target: int, *, keep: bool = False
) -> Change:
    """Give values of a dent to another ("that was the next dent"); `keep` leaves them where they are, too."""
    job, source, other = context.job, context.find(dent), context.find(target)
    if job is None or source is None or other is None:
        return no_dent(target if source else dent)
    given = {name: source.fields[name].slot for name in slots if name in source.fields}
    names = " and ".join(slot_name(name) for name in given or slots)
    if not given or source is other:
        return refused("nothing to give", f"dent {dent} has no {names} to give")
    change = context.change(f"{names} given to dent {target}")
    new = {name: slot for name, slot in given.items() if name not in other.fields}
    over = {name: slot for name, slot in given.items() if name in other.fields}
    if new:
        change.add(ev.Noted(target, new), job.id)
    if over:
        change.add(ev.Corrected(target, over), job.id)
    for name in () if keep else given:
        change.add(ev.Cleared(dent, name), job.id)
    return change


def no_dent(number: int | None) -> Change:
    """There is no dent of that number."""
    if number is None:
        return refused("no dent is open", "no dent is open")
    return refused(f"there is no dent {number}", f"there is no dent {number}")


def values_of(dent: Dent) -> dict[str, SlotValue]:
    """What a dent holds, by slot."""
    return {name: field.slot for name, field in dent.fields.items()}


def sure_again(held: Slots, slots: Slots) -> dict[str, SlotValue]:
    """The slots without a doubt about values that are sure of the dent already: it is not asked twice."""
    same = {name for name, slot in slots.items() if name in held and held[name].value == slot.value}
    return {name: held[name] if name in same and held[name].confirmed else slots[name] for name in slots}


def write_slots(
    context: Context, change: Change, job: str, dent: Dent, slots: Slots, risk: SlotValue | None = None
) -> None:
    """Draft values for a dent and the questions about them.

    Args:
        context: the job.
        change: what the drafts are added to.
        job: id of the job, which the same change may open.
        dent: as it stands; without fields where the same change opens it.
        slots: values that it has not got yet.
        risk: where one was said with them.
    """
    held = values_of(dent)
    before = dent if context.find(dent.number) else None
    doubted = doubt_slots(context, before, dent.number, _limited(slots, held))
    new = {name: slot for name, slot in doubted.slots.items() if name not in held}
    other = {name: slot for name, slot in doubted.slots.items() if name in held}
    if new:
        change.add(ev.Noted(dent.number, new), job)
    if other:
        change.add(ev.Corrected(dent.number, other), job)
    if risk is not None:
        note_risk(context, change, job, dent.number, risk)
    ask_all(context, change, job, dent.number, doubted.slots, doubted.texts)
    if "panel" in doubted.slots:
        _ask_for_place(context, change, job, dent.number, {**held, **doubted.slots})


def _limited(slots: Slots, held: Slots) -> dict[str, SlotValue]:
    """Doubt what makes no sense on the panel; said again as it stands, it is sure."""
    panel = str({**held, **slots}["panel"].value) if "panel" in {**held, **slots} else ""
    found = {}
    for name, slot in slots.items():
        again = name in held and held[name].value == slot.value and not held[name].confirmed
        why = "" if slot.doubt or again else nonsense(name, slot.value, panel)
        found[name] = replace(slot, doubt=why) if why else slot
    return found


def ask_all(
    context: Context,
    change: Change,
    job: str,
    dent: int,
    slots: Slots,
    texts: Mapping[str, str] | None = None,
) -> None:
    """Ask about every value in doubt."""
    for name, slot in slots.items():
        if in_doubt(slot):
            ask_about(context, change, job, dent, name, slot, (texts or {}).get(name, ""))


def _ask_for_place(context: Context, change: Change, job: str, dent: int, fields: Slots) -> None:
    for name in missing_place(place_of(fields)):
        place = read_back({"panel": fields["panel"]}, context.region)
        text = f"{place}: {missing_text(name, context.region)}"
        change.ask(job, name, CHOICES[name], text, dent, "not said")


def note_risk(context: Context, change: Change, job: str, dent: int | None, risk: SlotValue) -> None:
    """Draft what may remain after the repair."""
    risks = risk.value if isinstance(risk.value, tuple) else (str(risk.value),)
    change.add(ev.RiskNoted(risks, dent, risk.words), job)
    change.say(read_back({"risk": risk}, context.region))
