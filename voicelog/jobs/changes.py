"""What each event changes on the record of its job.

Every function here is total: an event that does not fit the record (a dent that is
not there, because its opening was undone or another device removed it) changes
nothing, so that any union of journals can be folded.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import deepcopy
from dataclasses import replace
from datetime import datetime
from functools import singledispatch
from typing import Any

from voicelog.jobs.records import (
    Dent,
    Extra,
    Field,
    HandPrice,
    Issued,
    Job,
    Past,
    Payment,
    Question,
    Quote,
    Reading,
    Step,
)
from voicelog.journal import events as ev
from voicelog.journal.personal import DETAILS
from voicelog.meaning.note import SlotValue
from voicelog.vocabulary import DAMAGE_SLOTS


def change(job: Job, event: ev.Event) -> None:
    """Change `job` by one event."""
    if ev.REOPENED in event.derived and getattr(event.body, "dent", None) in job.dents:
        return  # Its own opening was found after all, in a backup.
    apply(_renumbered(job, event), job, event)


def tried(job: Job, bodies: Iterable[ev.Body], group: str = "") -> Job:
    """A copy of a job with more done to it; the job itself stays as it is."""
    copy = deepcopy(job)
    at = job.timer.running_since or job.opened_at
    for body in bodies:
        change(copy, ev.Event("", group, at, 0, "", "", job.id, body))
    return copy


@singledispatch
def apply(body: ev.Body, job: Job, event: ev.Event) -> None:
    """Change `job` by one body; bodies that concern no record change nothing."""


def _renumbered(job: Job, event: ev.Event) -> ev.Body:
    """The body with the number that its dent has in this record.

    Two devices that worked on one job apart may both have given a number.  The dent
    that comes second gets the next free one, and what its device says of it follows.
    """
    body: Any = event.body
    if isinstance(body, ev.DentsOrdered):
        return replace(body, order=tuple(_number(job, event, dent) for dent in body.order))
    if isinstance(body, ev.DentOpened):
        source = body.copied_from
        copied_from = None if source is None else _number(job, event, source)
        job.renumbered.pop((event.device, body.dent), None)
        if body.dent in job.dents:
            job.renumbered[event.device, body.dent] = max(job.dents) + 1
        return replace(body, dent=_number(job, event, body.dent), copied_from=copied_from)
    if job.renumbered and getattr(body, "dent", None) is not None:
        return replace(body, dent=_number(job, event, body.dent))  # type: ignore[no-any-return]
    return event.body


def _number(job: Job, event: ev.Event, dent: int) -> int:
    return job.renumbered.get((event.device, dent), dent)


def _past(event: ev.Event, slot: SlotValue | None, how: str, by: ev.By) -> Past:
    return Past(
        value=None if slot is None else slot.value,
        words="" if slot is None else slot.words,
        by=by,
        how=how,  # type: ignore[arg-type]
        event=event.id,
        utterance=_utterance(event),
        at=event.at,
    )


def _utterance(event: ev.Event) -> int | None:
    number = event.derived.get("utterance")
    return None if number is None else int(number)


def _dent(job: Job, number: int | None) -> Dent | None:
    return None if number is None else job.dents.get(number)


def _set(job: Job, dent: Dent | None, name: str, slot: SlotValue, past: Past, group: str) -> None:
    """Give a slot of a dent, or a detail of the job, a value.

    A question about the value before is settled by it; one of the same utterance is about this one.
    """
    fields = job.details if dent is None else dent.fields
    found = fields.get(name)
    if found is None:
        before = [] if dent is None else dent.cleared.pop(name, [])
        found = fields[name] = Field(slot, before)
    found.slot, found.question = slot, None
    found.history.append(past)
    for question in _questions(job, None if dent is None else dent.number, name):
        if question.group == group:
            found.question = question.id
        else:
            del job.questions[question.id]


def _questions(job: Job, dent: int | None, slot: str) -> list[Question]:
    return [q for q in job.questions.values() if q.dent == dent and q.slot == slot]


@apply.register
def _(body: ev.JobDescribed, job: Job, event: ev.Event) -> None:
    for name, slot in body.slots.items():
        how = "corrected" if name in job.details else "heard"
        _set(job, None, name, slot, _past(event, slot, how, body.by), event.group)


@apply.register
def _(body: ev.DentOpened, job: Job, event: ev.Event) -> None:
    dent = Dent(body.dent, opened_at=event.at)
    source = _dent(job, body.copied_from)
    if source is not None:
        for name, found in source.fields.items():
            if name == "done":
                continue
            dent.fields[name] = Field(found.slot, [_past(event, found.slot, "copied", "voice")])
    job.dents[body.dent] = dent
    job.order.append(body.dent)
    _open(job, body.dent, event.at)


def _open(job: Job, dent: int | None, at: str) -> None:
    """Another dent is open now: what was worked so far belongs to the one before."""
    if job.timer.state == "running":
        _bank(job, at)
        job.timer.running_since, job.timer.dent = at, dent
    job.open_dent = dent


@apply.register
def _(body: ev.Noted, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is not None:
        for name, slot in body.slots.items():
            _set(job, dent, name, slot, _past(event, slot, "heard", body.by), event.group)


@apply.register
def _(body: ev.Corrected, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None:
        return
    for name, slot in body.slots.items():
        past = _past(event, slot, "corrected", body.by)
        readings = _readings(job, dent, name)
        if readings:
            found = readings[-1].um
            job.questions.pop(found.question or "", None)
            found.slot, found.question = slot, None
            found.history.append(past)
        else:
            _set(job, dent, name, slot, past, event.group)


def _readings(job: Job, dent: Dent | None, slot: str) -> list[Reading]:
    """The readings that a slot name speaks of."""
    if slot == "paint_um" and dent is not None:
        return dent.readings
    return job.references if slot == "reference_um" else []


@apply.register
def _(body: ev.Cleared, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    found = None if dent is None else dent.fields.pop(body.slot, None)
    if dent is None or found is None:
        return
    dent.cleared[body.slot] = [*found.history, _past(event, None, "cleared", body.by)]
    for question in _questions(job, body.dent, body.slot):
        del job.questions[question.id]


@apply.register
def _(body: ev.DentSelected, job: Job, event: ev.Event) -> None:
    if body.dent in job.dents:
        _open(job, body.dent, event.at)


@apply.register
def _(body: ev.DentRemoved, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None or dent.removed:
        return
    dent.removed = True
    dent.shelved = [q for q in job.questions.values() if q.dent == body.dent]
    for question in dent.shelved:
        del job.questions[question.id]
    if job.open_dent == body.dent:
        _open(job, next((d.number for d in reversed(list(job.listed()))), None), event.at)


@apply.register
def _(body: ev.DentRestored, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None:
        return
    dent.removed = False
    job.questions.update({question.id: question for question in dent.shelved})
    dent.shelved = []
    _open(job, body.dent, event.at)


@apply.register
def _(body: ev.DentsOrdered, job: Job, event: ev.Event) -> None:
    wanted = dict.fromkeys(number for number in body.order if number in job.dents)
    job.order = [*wanted, *(number for number in job.order if number not in wanted)]


@apply.register
def _(body: ev.Measured, job: Job, event: ev.Event) -> None:
    def said(name: str) -> str | None:
        slot = body.slots.get(name)
        return None if slot is None else str(slot.value)

    reading = Reading(
        place=body.place,
        um=Field(body.um, [_past(event, body.um, "heard", body.by)]),
        probe=said("probe"),
        panel=said("panel"),
        end=said("end"),
        side=said("side"),
        at=event.at,
        utterance=_utterance(event),
    )
    dent = _dent(job, body.dent)
    of_dent = body.place == "dent" and dent is not None
    (dent.readings if of_dent and dent is not None else job.references).append(reading)
    name = "paint_um" if of_dent else "reference_um"
    for question in _questions(job, body.dent if of_dent else None, name):
        if question.group == event.group:
            reading.um.question = question.id


@apply.register
def _(body: ev.Remeasured, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    readings = dent.readings if body.place == "dent" and dent is not None else job.references
    if not readings:
        return
    found = readings[-1].um
    job.questions.pop(found.question or "", None)
    found.slot, found.question = body.um, None
    found.history.append(_past(event, body.um, "corrected", body.by))


@apply.register
def _(body: ev.Stepped, job: Job, event: ev.Event) -> None:
    details = {name: slot.value for name, slot in body.slots.items()}
    step = Step(str(details.pop("step", "")), details, event.at, _utterance(event))
    dent = _dent(job, body.dent)
    (job.steps if dent is None else dent.steps).append(step)


@apply.register
def _(body: ev.Timed, job: Job, event: ev.Event) -> None:
    timer = job.timer
    was_running = timer.state == "running"
    _bank(job, event.at)
    if body.action in ("start", "resume"):
        timer.state, timer.running_since, timer.dent = "running", event.at, body.dent
    elif body.action == "stop":
        timer.state = "stopped"
    elif was_running:
        timer.state = "paused"


def _bank(job: Job, at: str) -> None:
    """Add the running span to job and dent and stand still."""
    timer = job.timer
    if timer.running_since is None:
        return
    # A clock set back must not take away work that was done.
    span = datetime.fromisoformat(at) - datetime.fromisoformat(timer.running_since)
    seconds = max(0.0, span.total_seconds())
    timer.worked_s += seconds
    dent = _dent(job, timer.dent)
    if dent is not None:
        dent.worked_s += seconds
    timer.running_since = None


@apply.register
def _(body: ev.TimeCorrected, job: Job, event: ev.Event) -> None:
    if job.timer.running_since is not None:
        _bank(job, event.at)
        job.timer.running_since = event.at
    before, job.timer.worked_s = job.timer.worked_s, float(body.seconds)
    for dent in job.dents.values():  # Nobody said which dent was timed wrong: each keeps its share.
        dent.worked_s *= job.timer.worked_s / before if before else 0.0


@apply.register
def _(body: ev.RiskNoted, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    risks = job.risks if dent is None else dent.risks
    risks.extend(risk for risk in dict.fromkeys(body.risks) if risk not in risks)


@apply.register
def _(body: ev.Told, job: Job, event: ev.Event) -> None:
    job.told.extend((risk, event.at) for risk in body.risks)


@apply.register
def _(body: ev.Asked, job: Job, event: ev.Event) -> None:
    if not body.choices and not body.text:
        return  # Its words were forgotten: nobody could answer it.
    would = tuple(tuple(made for data in choice if (made := ev.of_type(data))) for choice in body.would)
    question = Question(
        body.question,
        body.slot,
        body.choices,
        body.text,
        body.dent,
        body.reason,
        event.at,
        event.group,
        would,
    )
    job.questions[question.id] = question
    dent = _dent(job, body.dent)
    readings = _readings(job, dent, body.slot)
    found = readings[-1].um if readings else _fields(job, body.dent).get(body.slot)
    if found is not None:
        found.question = question.id


def _fields(job: Job, dent: int | None) -> dict[str, Field]:
    if dent is None:
        return job.details
    return job.dents[dent].fields if dent in job.dents else {}


@apply.register
def _(body: ev.Answered, job: Job, event: ev.Event) -> None:
    question = job.questions.pop(body.question, None)
    if question is None:
        return
    dent = _dent(job, question.dent)
    found = _asked_about(job, dent, question)
    if body.value is None:
        # Dropped: nobody said that the value is right, so it stays in doubt.
        if found is not None:
            found.question = None
    elif question.slot == "discount_percent":
        job.discount_percent = body.value
    elif found is not None:
        slot = SlotValue(body.value, body.words or found.slot.words)
        found.slot, found.question = slot, None
        found.history.append(_past(event, slot, "answered", body.by))
    elif question.slot in (DETAILS if dent is None else DAMAGE_SLOTS):
        slot = SlotValue(body.value, body.words)
        _set(job, dent, question.slot, slot, _past(event, slot, "answered", body.by), event.group)


def _asked_about(job: Job, dent: Dent | None, question: Question) -> Field | None:
    """The field a question is about: a reading, a dent's slot or a detail of the job."""
    readings = _readings(job, dent, question.slot)
    fields = [*(reading.um for reading in readings), *_fields(job, question.dent).values()]
    return next((found for found in fields if found.question == question.id), None)


@apply.register
def _(body: ev.Cautioned, job: Job, event: ev.Event) -> None:
    job.cautions.setdefault(body.caution, False)


@apply.register
def _(body: ev.Understood, job: Job, event: ev.Event) -> None:
    job.cautions[body.caution] = True


@apply.register
def _(body: ev.PhotoMarked, job: Job, event: ev.Event) -> None:
    job.photos.append((body.number, body.dent, event.at))


@apply.register
def _(body: ev.MemoKept, job: Job, event: ev.Event) -> None:
    job.memos.append((body.dent, body.words, event.at))


@apply.register
def _(body: ev.Quoted, job: Job, event: ev.Event) -> None:
    job.quotes.append(Quote(body.version, dict(body.snapshot), event.at, body.supplement_to, event=event.id))


@apply.register
def _(body: ev.QuoteSettled, job: Job, event: ev.Event) -> None:
    for quote in job.quotes:
        if quote.version == body.version:
            quote.accepted = body.accepted


@apply.register
def _(body: ev.Discounted, job: Job, event: ev.Event) -> None:
    job.discount_percent = body.percent


@apply.register
def _(body: ev.PricedByHand, job: Job, event: ev.Event) -> None:
    if body.amount is None:
        job.hand_prices.pop(body.dent, None)
    elif body.dent is None or body.dent in job.dents:
        job.hand_prices[body.dent] = HandPrice(body.amount, body.taxed, event.at)


@apply.register
def _(body: ev.ExtraAdded, job: Job, event: ev.Event) -> None:
    job.extras.append(Extra(event.group, body.text, body.amount))


@apply.register
def _(body: ev.ExtraRemoved, job: Job, event: ev.Event) -> None:
    job.extras = [extra for extra in job.extras if extra.id != body.extra]


@apply.register
def _(body: ev.Invoiced, job: Job, event: ev.Event) -> None:
    if all(issued.number != body.number for issued in job.issued):
        job.issued.append(Issued(body.number, dict(body.snapshot), event.at, body.of))


@apply.register
def _(body: ev.Paid, job: Job, event: ev.Event) -> None:
    job.payments.append(Payment(event.group, body.amount, body.currency, body.how, body.date, body.payer))


@apply.register
def _(body: ev.Finished, job: Job, event: ev.Event) -> None:
    _bank(job, event.at)
    if job.timer.state == "running":
        job.timer.state = "stopped"
    job.finished_at, job.gaps = event.at, body.gaps
