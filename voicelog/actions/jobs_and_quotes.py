"""Notes about the work itself: jobs, quotes, steps, time, and what the customer was told."""

from __future__ import annotations

from decimal import Decimal

from voicelog.actions.answers import DETAILS
from voicelog.actions.change import Desk, Plan, ask_about, job_for, open_job, refused
from voicelog.actions.contradictions import ask_of_step
from voicelog.actions.corrections import describe
from voicelog.actions.dents import in_trouble
from voicelog.actions.replies import gaps_of, total_text
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import card_of, in_force, snapshot, supplement
from voicelog.jobs.records import Job, Step
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note
from voicelog.meaning.wording import name_of, read_back


def take_job(note: Note, desk: Desk) -> Plan:
    """New job, plate and VIN, quotes, discount, finished, close the day."""
    if note.troubles:
        return in_trouble(note)
    plan = Plan()
    said = note.slots["job"].value if "job" in note.slots else ""
    details = {name: note.slots[name] for name in DETAILS if name in note.slots}
    if said == "new":
        job = open_job(desk, plan)
        plan.answer = "new job"
        return describe(details, job, plan, desk) if details else plan
    if details:
        return describe(details, job_for(desk, plan), plan, desk)
    if said == "close-day":
        plan.add(ev.DayClosed(desk.now.date().isoformat()), None)
        plan.answer = "day closed"
        return plan
    if desk.job is None:
        return refused("no job is open", "no job is open yet")
    if said == "finished":
        gaps = tuple(gap.id for gap in gaps_of(desk.job, desk.card))
        plan.add(ev.Finished(gaps), desk.job.id)
        plan.answer = f"job finished, {len(gaps)} missing" if gaps else "job finished, nothing missing"
        return plan
    if "discount_percent" in note.slots:
        return _discount(note, desk)
    return _quote(str(note.slots["quote"].value), desk)


def _discount(note: Note, desk: Desk) -> Plan:
    assert desk.job is not None
    slot = note.slots["discount_percent"]
    limit = desk.card.charges.max_discount_percent
    if isinstance(slot.value, int | Decimal) and slot.value > limit:
        return refused(
            f"discount_percent: the card allows {limit}", f"the card allows {limit} percent at most"
        )
    plan = Plan()
    plan.add(ev.Discounted(slot.value), desk.job.id)
    plan.answer = read_back({"discount_percent": slot}, desk.region)
    if in_doubt(slot):
        ask_about(desk, plan, desk.job.id, None, "discount_percent", slot)
    return plan


def _quote(said: str, desk: Desk) -> Plan:
    job = desk.job
    assert job is not None
    plan = Plan()
    if said == "give":
        return _give(job, desk)
    if not job.quotes:
        return refused("no quote was given", "no quote was given yet")
    version = job.quotes[-1].version
    plan.add(ev.QuoteSettled(version, said == "accepted"), job.id)
    plan.answer = f"quote {version} {said}"
    return plan


def _give(job: Job, desk: Desk) -> Plan:
    """A new quote; once one was accepted, a supplement to it with what came on top."""
    plan = Plan()
    version = max((quote.version for quote in job.quotes), default=0) + 1
    held = in_force(job)
    if not held or not held[0].accepted:
        estimate = price_job(job, desk.card)
        plan.add(ev.Quoted(version, snapshot(job, estimate, desk.card)), job.id)
        plan.answer = f"quote {version}, {total_text(estimate)}"
        return plan
    more = supplement(job)
    if more is None:
        return refused("nothing was added to the accepted quote", "nothing was added since the quote")
    card = card_of(held[0].snapshot)
    plan.add(ev.Quoted(version, snapshot(job, more, card), supplement_to=held[0].version), job.id)
    plan.answer = f"supplement {version}, {total_text(more)}"
    return plan


def take_step(note: Note, desk: Desk) -> Plan:
    """A step of the repair, at the open dent."""
    if note.troubles:
        return in_trouble(note)
    plan = Plan()
    job = job_for(desk, plan)
    dent = None if desk.dent is None else desk.dent.number
    plan.add(ev.Stepped(note.slots, dent), job)
    plan.answer = read_back(note.slots, desk.region)
    if desk.dent is not None:
        details = {name: slot.value for name, slot in note.slots.items() if name != "step"}
        step = Step(str(note.slots["step"].value), details, "", None)
        ask_of_step(desk, plan, job, desk.dent, step)
    return plan


def take_time(note: Note, desk: Desk) -> Plan:
    """Start, pause, resume or stop the work timer."""
    plan = Plan()
    action = str(note.slots["time"].value)
    if desk.job is None and action != "start":
        return refused("no job is open", "no job is open yet")
    job = job_for(desk, plan)
    plan.add(ev.Timed(action, None if desk.dent is None else desk.dent.number), job)
    plan.answer = read_back(note.slots, desk.region)
    return plan


def take_told(note: Note, desk: Desk) -> Plan:
    """The customer was told: the risks named, else all that were noted on the job."""
    job = desk.job
    if job is None:
        return refused("no job is open", "no job is open yet")
    risk = note.slots.get("risk")
    if risk is not None:
        risks = (
            tuple(str(value) for value in risk.value) if isinstance(risk.value, tuple) else (str(risk.value),)
        )
    else:
        noted = [*job.risks, *(value for dent in job.listed() for value in dent.risks)]
        risks = tuple(dict.fromkeys(noted))
    if not risks:
        return refused("risk: none was noted", "told what? say the risk")
    plan = Plan()
    plan.add(ev.Told(risks, note.words), job.id)
    plan.answer = f"customer told, {' and '.join(name_of(value, desk.region) for value in risks)}"
    return plan
