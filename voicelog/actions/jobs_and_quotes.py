"""Jobs as a whole: open, go on with, describe, quotes, discount, finish, and the end of the day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import islice

from voicelog.actions.change import (
    NO_CHANGE,
    NO_JOB,
    Change,
    Context,
    ask_about,
    ask_first,
    begin_job,
    differing,
    job_for,
    refused,
)  # fmt: skip
from voicelog.actions.joining import part_of
from voicelog.actions.replies import range_text, total_text
from voicelog.actions.steps_and_time import running_since
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import card_of, in_force, joined, open_points, snapshot, supplement
from voicelog.jobs.checklist import gaps
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import NO_SLOTS, Slots, SlotValue, Value
from voicelog.meaning.numbers import in_words
from voicelog.meaning.place import normal
from voicelog.meaning.wording import missing_text, place_text, read_back


def open_job(context: Context, details: Slots = NO_SLOTS) -> Change:
    """Begin a new job, with what is known of car and customer."""
    change = context.change("new job")
    twin = _open_twin(context, details)
    if twin is not None:
        return _is_twin(context, twin)
    job = begin_job(context, change)
    _leave(context, change, "pause")
    if details:
        _describe(context, change, job, details)
    return change


def select_job(context: Context, number: int) -> Change:
    """Go on with a job that is there already; of two with one number the latest that is open."""
    found = [key for key, known in context.state.opened.items() if known.number == number]
    if not found:
        return refused(f"there is no job {number}", f"there is no job {number}")
    jobs = [context.state.jobs[key] for key in reversed(found)]
    return _select(context, next((job for job in jobs if job.finished_at is None), jobs[0]))


def _select(context: Context, job: Job) -> Change:
    number = job.number
    if job.joined_to is not None:
        return part_of(context, job)
    if job.id == context.state.current:
        return refused(f"job {number} is the current one", f"this is job {number}")
    plate = job.get("plate")
    named = f", {read_back({'plate': SlotValue(plate)}, context.region)}" if plate else ""
    change = context.change(f"job {number}{named}")
    change.add(ev.JobSelected(), job.id)
    _leave(context, change, "pause")
    return change


def _leave(context: Context, change: Change, action: str) -> None:
    """Nobody works on a car that is left: its clock, where it runs, is paused or stopped."""
    job = context.state.job
    if job is not None and job.timer.state == "running":
        change.add(ev.Timed(action, job.open_dent), job.id)
        change.say(f"work on job {job.number} {'paused' if action == 'pause' else 'stopped'}")


def find_job(context: Context, said: str, details: Sequence[str]) -> Change:
    """Go on with the open job of which all that was said is among these details."""
    wanted = set(said.lower().replace("'s", "").split()) - CALLED
    found = [job for job in _open_jobs(context) if wanted and wanted <= _words(job, details)]
    others = [job for job in found if job.id != context.state.current]
    if len(others) > 1:
        either = ", ".join(_named(job) for job in others[:NAMED_JOBS])
        return refused(f"several open jobs have {said}", f"{len(others)} fit: {either}; say go to job")
    if not found:
        text = f"no open job has {details[0]} {said}" if len(details) == 1 else f"no open car is the {said}"
        return refused(f"no open job is {said}", text)
    return _select(context, (others or found)[0])


CALLED = frozenset(("the", "car", "one", "vehicle", "of"))
"""Words for a car that tell none from another."""


def _words(job: Job, details: Sequence[str]) -> set[str]:
    return {word for name in details for word in str(job.get(name) or "").lower().split()}


def _named(job: Job) -> str:
    """What people call a car: its job's number, plate, colour, make and model, customer."""
    known = [str(job.get(name) or "") for name in ("plate", "colour", "make", "model", "customer")]
    return " ".join(part for part in (f"job {job.number}", *known) if part)


def list_jobs(context: Context) -> Change:
    """The open jobs as spoken, the latest first."""
    found = list(_open_jobs(context))
    more = f", and {len(found) - NAMED_JOBS} more" if len(found) > NAMED_JOBS else ""
    named = ", ".join(_named(job) for job in found[:NAMED_JOBS])
    return context.change(f"open: {named}{more}" if found else "no job is open")


NAMED_JOBS = 4
"""So many open jobs are named in one answer."""
LOOKED_AT = 200
"""So many jobs back an open one is looked for."""


def _open_jobs(context: Context) -> Iterator[Job]:
    """Jobs that were not finished, the latest first."""
    keys = islice(reversed(context.state.opened), LOOKED_AT)
    jobs = (context.state.jobs[key] for key in keys)
    return (job for job in jobs if job.finished_at is None and job.joined_to is None)


def _open_twin(context: Context, details: Slots) -> Job | None:
    """Another open job that has the plate or VIN already."""
    said = {name: details[name].value for name in ("plate", "vin") if name in details}
    if not said:
        return None
    others = (job for job in _open_jobs(context) if job is not context.job)
    return next((job for job in others if any(job.get(name) == said[name] for name in said)), None)


def _is_twin(context: Context, twin: Job) -> Change:
    number = twin.number
    text = f"that is job {number}, still open; go to job {number}?"
    return ask_first(context, f"go to job {in_words(number)}", text)


def describe(context: Context, details: Slots) -> Change:
    """Note what is known of car and customer; texts equal to what stands there are left out."""
    twin = _open_twin(context, details)
    if twin is not None:
        return _is_twin(context, twin)
    held = {} if context.job is None else {name: field.slot for name, field in context.job.details.items()}
    new = {name: slot for name, slot in differing(held, details).items() if slot.value or name in held}
    if not new:
        return refused(NO_CHANGE, "that stands there already")
    change = context.change()
    _describe(context, change, job_for(context, change), new)
    return change


def _describe(context: Context, change: Change, job: str, details: Slots) -> None:
    """A failed check digit of a VIN is asked about, not refused."""
    change.add(ev.JobDescribed(details), job)
    change.say(read_back(details, context.region) or "noted")
    for name, slot in details.items():
        if in_doubt(slot):
            ask_about(context, change, job, None, name, slot)


def finish(context: Context) -> Change:
    """Call the job finished; what is missing is named and kept, and does not hinder it.

    A clock that runs is stopped by it, after a question unless the settings say otherwise.
    """
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    missing = gaps(job)
    names = tuple(gap.id for gap in missing)
    if job.finished_at and names == job.gaps:
        return refused("the job is finished", "the job is finished already")
    running = running_since(job, context.now)
    if running and not (context.sure or context.closes_clock):
        return ask_first(context, "job finished", f"{running}; stop it and finish the job?")
    missed = f"{len(missing)} missing" if missing else "nothing missing"
    change = context.change(f"job finished, {missed}" + (", clock stopped" if running else ""))
    change.add(ev.Finished(names), job.id)
    return change


def close_day(context: Context) -> Change:
    """End the day's log."""
    change = context.change("day closed")
    _leave(context, change, "stop")
    change.add(ev.DayClosed(context.now.date().isoformat()), None)
    return change


def discount(context: Context, percent: SlotValue) -> Change:
    """Give a discount on the net sum, up to the card's limit."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if all(over_limit(context, value) for value in (percent.value, *percent.alternatives)):
        return too_much(context)
    said = read_back({"discount_percent": percent}, context.region)
    if percent.confirmed and percent.value == job.discount_percent:
        return refused(NO_CHANGE, f"{said} already")
    change = context.change(said)
    change.add(ev.Discounted(percent.value), job.id)
    if in_doubt(percent):
        ask_about(context, change, job.id, None, "discount_percent", percent)
    return change


def over_limit(context: Context, percent: Value) -> bool:
    """Whether a discount is more than the card allows."""
    return isinstance(percent, int | Decimal) and percent > context.card.charges.max_discount_percent


def too_much(context: Context) -> Change:
    """The discount is more than the card allows."""
    limit = context.card.charges.max_discount_percent
    return refused(f"discount_percent: the card allows {limit}", f"the card allows {limit} percent at most")


def give_quote(context: Context) -> Change:
    """Give a quote at today's figures; once one was accepted, a supplement to it with what came on top."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    if job.joined_to is not None:
        return part_of(context, job)
    version = max((quote.version for quote in job.quotes), default=0) + 1
    held = in_force(job)
    if not held or not held[0].accepted:
        estimate = price_job(job, context.card)
        change = context.change(f"quote {version}, {total_text(estimate)}")
        change.say(_not_firm(estimate))
        change.add(ev.Quoted(version, snapshot(job, estimate, context.card)), job.id)
        _ask_what_is_open(context, change, job, estimate)
        return change
    more = supplement(job)
    if more is None:
        return refused("nothing was added to the accepted quote", "nothing was added since the quote")
    change = context.change(f"supplement {version}, {total_text(more)}, {_lines_named(more)}")
    change.say(_not_firm(more))
    body = ev.Quoted(version, snapshot(job, more, card_of(held[0].snapshot)), supplement_to=held[0].version)
    change.add(body, job.id)
    return change


def _not_firm(estimate: Estimate) -> str:
    """What has to be settled before the customer can accept it; empty where nothing."""
    points = [] if _takes_off(estimate) else open_points(estimate)
    return f"to be settled before it can be accepted: {'; '.join(points)}" if points else ""


def _ask_what_is_open(context: Context, change: Change, job: Job, estimate: Estimate) -> None:
    """Ask for every open value, also once more; the range is said before the first question."""
    asked = {(question.dent, question.slot): question for question in job.questions.values()}
    for item in estimate.unsettled:
        dent, before = context.find(item.dent), asked.get((item.dent, item.slot))
        if not item.difference or dent is None:
            continue
        if before is not None:
            change.add(ev.Answered(before.id, None, slot=before.slot), job.id)
            change.ask(
                job.id, before.slot, before.choices, before.text, before.dent, before.reason, before.would
            )
        elif item.slot in dent.fields:
            ask_about(context, change, job.id, item.dent, item.slot, dent.fields[item.slot].slot)
        elif item.slot == "material":  # Of all that is not said it alone makes a range.
            which = missing_text(item.slot, context.region, map(str, item.choices))
            text = f"{place_text(normal(dent.place), context.region)}: {which}"
            change.ask(job.id, item.slot, item.choices, text, item.dent, "not said")
    if change.question is not None:
        change.question = f"{change.answer.partition(', to be')[0]}, no firm price yet; {change.question}"


def _takes_off(estimate: Estimate) -> bool:
    """Whether a supplement only takes off what was agreed, by a settled sum."""
    return estimate.confirmed and estimate.total.settled and estimate.total.high < 0


def _lines_named(supplement: Estimate) -> str:
    """What a supplement is for: "dent 3 £24.00, left tail light off and on £16.50"."""
    named = [
        f"{line.text.partition(':')[0].lower()} {range_text(line.amount, supplement.currency)}"
        for line in supplement.lines
        if line.amount is not None and line.kind != "tax"
    ]
    rest = f" and {len(named) - NAMED_LINES} more" if len(named) > NAMED_LINES else ""
    return ", ".join(named[:NAMED_LINES]) + rest


NAMED_LINES = 3
"""So many lines of a supplement are said; the paper has all of them."""


def settle_quote(context: Context, *, accepted: bool, version: int | None = None) -> Change:
    """The customer accepted or declined a quote: the one given, else the last that is still open."""
    job, said = context.job, "accepted" if accepted else "declined"
    if job is None:
        return refused("no job is open", NO_JOB)
    waiting = [quote.version for quote in job.quotes if quote.accepted is None]
    if version is None and waiting:
        version = waiting[-1]
    if version not in waiting:
        return refused("no open quote", _settled_already(job, version))
    quote = next(quote for quote in job.quotes if quote.version == version)
    if accepted and quote.snapshot:
        why = _not_firm(joined([quote.snapshot]))
        if why:
            return refused("the quote is not settled", f"quote {version} is no firm price; {why}")
    change = context.change(f"quote {version} {said}")
    change.add(ev.QuoteSettled(version, accepted), job.id)
    return change


def _settled_already(job: Job, version: int | None) -> str:
    if not job.quotes:
        return "no quote was given yet"
    quote = next((quote for quote in job.quotes if quote.version == version), job.quotes[-1])
    return f"quote {quote.version} was {'accepted' if quote.accepted else 'declined'} already"
