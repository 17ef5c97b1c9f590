"""What a note makes contradictory is kept in doubt and asked about, both facts named.

"Yes" confirms it, the right value corrects it; until then the price is not settled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from voicelog.actions.change import Change, Context, ask_about
from voicelog.jobs.consistency import Contradiction, contradictions
from voicelog.jobs.records import Dent, Field, Job, Reading, Step
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import SlotValue, Value
from voicelog.meaning.wording import say_value, slot_name
from voicelog.vocabulary import NUMBERS


@dataclass(frozen=True)
class Doubted:
    """Slots with what contradicts the rest of the record in doubt, and how it is asked."""

    slots: Mapping[str, SlotValue]
    """Those given, and those of the record that are doubted now."""
    texts: Mapping[str, str] = field(default_factory=dict)
    """The question by slot."""


def with_said(
    dent: Dent,
    slots: Mapping[str, SlotValue],
    readings: Sequence[Reading] = (),
    steps: Sequence[Step] = (),
) -> Dent:
    """A copy of a dent with more said of it; the dent itself stays as it is."""
    fields = {**dent.fields, **{name: Field(slot) for name, slot in slots.items()}}
    return replace(dent, fields=fields, readings=[*dent.readings, *readings], steps=[*dent.steps, *steps])


def doubt_slots(
    context: Context, before: Dent | None, number: int, slots: Mapping[str, SlotValue]
) -> Doubted:
    """Look at what a damage note or a correction says of a dent.

    Args:
        context: the job.
        before: the dent as it stands; None for one that the note opens.
        number: the number of the dent.
        slots: what it says anew.
    """
    after = with_said(before or Dent(number), slots)
    job = _with_dent(context.job, after)
    found = contradictions(after, job, before=before, changed=slots.keys())
    held = {name: known.slot for name, known in after.fields.items()}
    # A value that is asked about anyway is asked about once.
    found = tuple(item for item in found if item.slot in held and not in_doubt(held[item.slot]))
    texts = {item.slot: _question(item, after, held[item.slot].value, context) for item in found}
    doubted = {
        item.slot: replace(held[item.slot], doubt=_why(item, after, context), alternatives=item.others)
        for item in found
    }
    return Doubted({**slots, **doubted}, texts)


def doubt_reading(
    context: Context, after: Dent, job: Job, before: Dent | None, name: str, um: SlotValue
) -> Doubted:
    """Look at a paint reading; `after` and `job` hold it already."""
    found = contradictions(after, job, before=before, changed=(name,))
    item = next((item for item in found if item.slot == name), None)
    if item is None or in_doubt(um):
        return Doubted({name: um})
    text = _question(item, after, um.value, context)
    return Doubted({name: replace(um, doubt=_why(item, after, context))}, {name: text})


def ask_of_step(context: Context, change: Change, job: str, dent: Dent, step: Step) -> None:
    """A step that contradicts what is known of its dent: the dent's value is put in doubt."""
    after = with_said(dent, {}, steps=[step])
    for item in contradictions(after, _with_dent(context.job, after), before=dent):
        held = dent.fields[item.slot].slot if item.slot in dent.fields else None
        if held is None or in_doubt(held):
            continue
        doubted = replace(held, doubt=_why(item, after, context))
        change.add(ev.Corrected(dent.number, {item.slot: doubted}), job)
        text = _question(item, after, held.value, context)
        ask_about(context, change, job, dent.number, item.slot, doubted, text)


def _with_dent(job: Job | None, dent: Dent) -> Job:
    job = job or Job("", 0, "")
    return replace(job, dents={**job.dents, dent.number: dent})


def _why(item: Contradiction, dent: Dent, context: Context) -> str:
    return item.text(dent, lambda slot, value: say_value(slot, value, context.region))


def _question(item: Contradiction, dent: Dent, value: Value, context: Context) -> str:
    """Both facts, then the value: "aluminium panel, but a magnetic base; is aluminium right?"."""
    if item.others:
        which = " or ".join(say_value(item.slot, one, context.region) for one in (value, *item.others))
        return f"{_why(item, dent, context)}; {which}?"
    name = f"{slot_name(item.slot)} " if item.slot in NUMBERS else ""
    return f"{_why(item, dent, context)}; is {name}{say_value(item.slot, value, context.region)} right?"
