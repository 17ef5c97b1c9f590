"""What may remain after the repair, and that the customer was told."""

from __future__ import annotations

from voicelog.actions.change import NO_JOB, Change, Context, job_for, refused
from voicelog.actions.slots import no_dent, note_risk
from voicelog.jobs.checklist import untold
from voicelog.journal import events as ev
from voicelog.meaning.note import SlotValue
from voicelog.meaning.wording import name_of


def note_risks(context: Context, risk: SlotValue, dent: int | None = None) -> Change:
    """Note risks of a dent, or of the whole job where no dent is given."""
    if dent is not None and context.find(dent) is None:
        return no_dent(dent)
    change = context.change()
    note_risk(context, change, job_for(context, change), dent, risk)
    return change


def tell(context: Context, risk: SlotValue | None = None) -> Change:
    """The customer was told: the risks given, else every one noted on the job that was not told yet."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if risk is not None:
        risks = risk.value if isinstance(risk.value, tuple) else (str(risk.value),)
    else:
        risks = tuple(untold(job))
    if not risks:
        why = "the customer was told of every risk already" if job.told else "told what? say the risk"
        return refused("risk: none to tell", why)
    change = context.change(f"customer told, {' and '.join(name_of(one, context.region) for one in risks)}")
    change.add(ev.Told(risks, context.words), job.id)
    return change
