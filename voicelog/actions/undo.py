"""Take back what was said or done last, and bring it back; what it was is named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from voicelog.actions.change import NO_JOB, Change, Context, refused
from voicelog.journal import events as ev
from voicelog.meaning.note import Slots
from voicelog.meaning.region import Region
from voicelog.meaning.wording import name_of, read_back, say_value, slot_name, span

STRIKABLE = (
    ev.Timed, ev.TimeCorrected, ev.Stepped, ev.RiskNoted, ev.Told, ev.Measured, ev.PhotoMarked, ev.MemoKept,
)  # fmt: skip
"""What can be struck alone: it makes no value that a field of the desk holds."""
NAMED = 2
"""So many parts of what is taken back are named; the number of the rest follows."""


def undo(context: Context, *, redo: bool = False) -> Change:
    """Take back the last thing said or done, or bring back what was taken back last.

    What was said last but not taken down is not followed by something older in silence: the first
    "scratch that" says what the next one would take back.
    """
    what = "put back" if redo else "taken back"
    stack = context.state.redoable if redo else context.state.undoable
    if not stack:
        return refused("nothing there", f"there is nothing to be {what}")
    events = context.recall(stack[-1])
    issued = next((event.body.number for event in events if isinstance(event.body, ev.Invoiced)), None)
    if issued is not None:
        return refused("an invoice stays", f"{issued} was issued and stays; say credit note to take it back")
    name = name_of_group(events, context.region)
    if context.by == "voice" and context.state.refused and not redo:
        return refused(
            "what was said last changed nothing", f"nothing was taken down; once more takes back: {name}"
        )
    change = context.change(f"{what}: {name}")
    change.add(ev.Redone(stack[-1]) if redo else ev.Undone(stack[-1]), None)
    return change


def strike(context: Context, event: ev.Event) -> Change:
    """Let one thing said count no longer: a time, step, risk, reading, photo or memo.

    What was said in the same breath stays; questions about the value go with it.
    """
    if event.job is None or not isinstance(event.body, STRIKABLE):
        return refused("this cannot be struck", "this has a field of its own: clear that")
    change = context.change(f"taken back: {name_of_body(event.body, context.region)}")
    change.add(ev.Struck(event.id), event.job)
    if isinstance(event.body, ev.Measured):
        slot = "paint_um" if event.body.place == "dent" else "reference_um"
        for one in context.recall(event.group):
            if isinstance(one.body, ev.Asked) and one.body.slot == slot:
                change.add(ev.Struck(one.id), event.job)
    return change


def correct_time(context: Context, minutes: int | Decimal) -> Change:
    """How long was worked on the job so far, whatever the clock says; a clock that runs goes on from it."""
    if context.job is None:
        return refused("no job is open", NO_JOB)
    body = ev.TimeCorrected(round(minutes * 60))
    change = context.change(name_of_body(body, context.region))
    change.add(body, context.job.id)
    return change


def name_of_group(events: Sequence[ev.Event], region: Region) -> str:
    """What was said or done in one group of events, in a few words."""
    said = next((event.body.slots for event in events if isinstance(event.body, ev.Heard)), {})
    bodies = [_as_said(event.body, said) for event in events]
    if any(isinstance(body, ev.Noted) for body in bodies):
        bodies = [body for body in bodies if not isinstance(body, ev.DentOpened)]
    bodies.sort(key=lambda body: isinstance(body, ev.JobOpened))  # Opened by the way, it is named last.
    names = list(dict.fromkeys(name for body in bodies if (name := name_of_body(body, region))))
    if not names:  # It was only asked about.
        return read_back(said, region) or "a question"
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return ", ".join(names[:NAMED]) + more


def _as_said(body: ev.Body, said: Slots) -> ev.Body:
    """A correction by the values that were said: what stood there may still be in force beside them."""
    if not isinstance(body, ev.Corrected):
        return body
    return replace(body, slots={name: said.get(name, slot) for name, slot in body.slots.items()})


def name_of_body(body: ev.Body, region: Region) -> str:
    """What one event changed; empty for what goes with another."""
    match body:
        case ev.JobOpened():
            return "new job"
        case ev.JobSelected():
            return "another job"
        case ev.JobDescribed(slots=slots):
            return read_back(slots, region) or ", ".join(slots)
        case ev.DentOpened(dent=dent):
            return f"dent {dent}"
        case ev.Noted(slots=slots) | ev.Corrected(slots=slots) | ev.Stepped(slots=slots):
            return read_back(slots, region)
        case ev.Cleared(slot=slot):
            return f"{slot_name(slot)} cleared"
        case ev.DentSelected(dent=dent):
            return f"go to dent {dent}"
        case ev.DentRemoved(dent=dent):
            return f"removed dent {dent}"
        case ev.DentRestored(dent=dent):
            return f"restored dent {dent}"
        case ev.DentsOrdered():
            return "order of dents"
        case ev.Measured(place=place, um=um) | ev.Remeasured(place=place, um=um):
            return read_back({"paint_um" if place == "dent" else "reference_um": um}, region)
        case ev.RiskNoted(risks=risks):
            return " and ".join(name_of(risk, region) for risk in risks)
        case ev.Told():
            return "customer told"
        case ev.TimeCorrected(seconds=seconds):
            return f"worked {span(seconds, 'paper')}"
        case ev.Struck():
            return "something said before"
        case ev.Timed(action=action):
            return f"{action} work"
        case ev.Answered(slot=slot, value=value):
            if value is None or slot in ("", "note"):
                return ""
            return f"{slot_name(slot)} {say_value(slot, value, region)}"
        case ev.PhotoMarked(number=number):
            return f"photo {number}"
        case ev.MemoKept(words=words):
            return f"memo {words}".strip()
        case ev.Quoted(version=version, supplement_to=before):
            return f"quote {version}" if before is None else f"supplement {version}"
        case ev.QuoteSettled(accepted=accepted):
            return "quote accepted" if accepted else "quote declined"
        case ev.Discounted(percent=percent):
            return f"discount {percent} percent"
        case ev.PricedByHand(amount=amount, dent=dent):
            what = "the job" if dent is None else f"dent {dent}"
            return f"{what} priced by the card" if amount is None else f"price {amount} for {what}"
        case ev.ExtraAdded(text=text, amount=amount):
            return f"{text} {amount}"
        case ev.ExtraRemoved():
            return "line taken off"
        case ev.Paid(amount=amount):
            return f"paid {amount}"
        case ev.Joined():
            return "jobs joined"
        case ev.Finished():
            return "job finished"
        case ev.DayClosed():
            return "day closed"
        case ev.Understood(caution=caution):
            return f"understood, {caution.replace('-', ' ')}"
    return ""
