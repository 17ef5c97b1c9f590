"""The one fold from events to state.

`fold(events)` is pure: the same events in the same order give the same state.
`Ledger` is the same fold kept open, so that one more event costs the fold of
that event only, and an undo the fold of the one job it touches.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from functools import singledispatch

from voicelog.jobs.records import (
    Dent,
    Field,
    Job,
    Past,
    Question,
    Quote,
    Reading,
    State,
    Step,
)
from voicelog.journal import events as ev
from voicelog.meaning.note import SlotValue


def fold(events: Iterable[ev.Event]) -> State:
    """The state after all of `events`, given in the order in which they count."""
    ledger = Ledger()
    for event in events:
        ledger.add(event)
    return ledger.state


class Ledger:
    """A fold that stays open for more events."""

    def __init__(self) -> None:
        self.state = State()
        self._by_job: dict[str, list[ev.Event]] = {}
        self._job_of_group: dict[str, str] = {}
        self._undone: set[str] = set()

    def add(self, event: ev.Event) -> None:
        """Fold one more event."""
        body = event.body
        if isinstance(body, ev.Undone | ev.Redone):
            self._turn(body.target, undone=isinstance(body, ev.Undone))
            return
        _apply_to_state(self.state, event)
        if event.job is None:
            return
        self._by_job.setdefault(event.job, []).append(event)
        if isinstance(body, ev.RECORD_BODIES):
            self._remember(event)
        if event.group not in self._undone:
            self._apply_to_job(event)

    def _remember(self, event: ev.Event) -> None:
        assert event.job is not None
        if event.group in self._job_of_group:
            return
        self._job_of_group[event.group] = event.job
        self.state.undoable.append(event.group)
        self.state.redoable.clear()

    def _apply_to_job(self, event: ev.Event) -> None:
        jobs = self.state.jobs
        if isinstance(event.body, ev.JobOpened):
            jobs[str(event.job)] = Job(id=str(event.job), number=event.body.number, opened_at=event.at)
            self.state.current = event.job
        job = jobs.get(str(event.job))
        if job is not None:
            apply(event.body, job, event)

    def _turn(self, target: str, *, undone: bool) -> None:
        """Undo or redo a group and fold its job afresh."""
        stack, other = self.state.undoable, self.state.redoable
        if not undone:
            stack, other = other, stack
        if target not in stack:
            return
        stack.remove(target)
        other.append(target)
        (self._undone.add if undone else self._undone.discard)(target)
        self._refold(self._job_of_group[target])

    def _refold(self, job_id: str) -> None:
        place = list(self.state.jobs)
        current = self.state.current
        self.state.jobs.pop(job_id, None)
        for event in self._by_job[job_id]:
            if event.group not in self._undone:
                self._apply_to_job(event)
        if current is not None and current in self.state.jobs:
            self.state.current = current
        elif job_id not in self.state.jobs:
            self.state.current = next(reversed(self.state.jobs), None)
        if job_id in place and job_id in self.state.jobs:
            self.state.jobs = {key: self.state.jobs[key] for key in place}
        else:
            self.state.jobs = dict(sorted(self.state.jobs.items(), key=lambda item: item[1].number))


def _apply_to_state(state: State, event: ev.Event) -> None:
    """What an event says about the journal as a whole."""
    match event.body:
        case ev.Heard(utterance=number):
            state.utterances = max(state.utterances, number)
        case ev.ListeningChanged(awake=awake):
            state.awake = awake
        case ev.DayClosed(date=date):
            state.days_closed.append(date)
        case ev.JobSelected():
            if event.job in state.jobs:
                state.current = event.job
        case _:
            pass


@singledispatch
def apply(body: ev.Body, job: Job, event: ev.Event) -> None:
    """Change `job` by one event; bodies that concern no record change nothing."""


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


def _set(fields: dict[str, Field], name: str, slot: SlotValue, past: Past) -> None:
    found = fields.get(name)
    if found is None:
        fields[name] = Field(slot, [past])
    else:
        found.slot = slot
        found.history.append(past)
        found.question = None


def _dent(job: Job, number: int | None) -> Dent | None:
    return None if number is None else job.dents.get(number)


@apply.register
def _(body: ev.JobDescribed, job: Job, event: ev.Event) -> None:
    for name, slot in body.slots.items():
        _set(job.details, name, slot, _past(event, slot, "heard", body.by))


@apply.register
def _(body: ev.DentOpened, job: Job, event: ev.Event) -> None:
    dent = Dent(body.dent, opened_at=event.at)
    source = _dent(job, body.copied_from)
    if source is not None:
        for name, found in source.fields.items():
            dent.fields[name] = Field(found.slot, [_past(event, found.slot, "copied", "voice")])
    job.dents[body.dent] = dent
    job.order.append(body.dent)
    _turn_timer_to(job, body.dent, event.at)
    job.open_dent = body.dent


@apply.register
def _(body: ev.Noted, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None:
        return
    for name, slot in body.slots.items():
        _set(dent.fields, name, slot, _past(event, slot, "heard", body.by))


@apply.register
def _(body: ev.Corrected, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None:
        return
    for name, slot in body.slots.items():
        _set(dent.fields, name, slot, _past(event, slot, "corrected", body.by))
        _drop_questions(job, body.dent, name)


@apply.register
def _(body: ev.Cleared, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is not None and dent.fields.pop(body.slot, None) is not None:
        _drop_questions(job, body.dent, body.slot)


def _drop_questions(job: Job, dent: int | None, slot: str) -> None:
    for question in [q for q in job.questions.values() if q.dent == dent and q.slot == slot]:
        del job.questions[question.id]


@apply.register
def _(body: ev.DentSelected, job: Job, event: ev.Event) -> None:
    if body.dent in job.dents:
        _turn_timer_to(job, body.dent, event.at)
        job.open_dent = body.dent


@apply.register
def _(body: ev.DentRemoved, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is None:
        return
    dent.removed = True
    if job.open_dent == body.dent:
        job.open_dent = next((d.number for d in reversed(list(job.listed()))), None)


@apply.register
def _(body: ev.DentRestored, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    if dent is not None:
        dent.removed = False
        job.open_dent = body.dent


@apply.register
def _(body: ev.DentsOrdered, job: Job, event: ev.Event) -> None:
    rest = [number for number in job.order if number not in body.order]
    job.order = [number for number in body.order if number in job.dents] + rest


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
    if body.place == "dent" and dent is not None:
        dent.readings.append(reading)
    else:
        job.references.append(reading)


@apply.register
def _(body: ev.Stepped, job: Job, event: ev.Event) -> None:
    details = {name: slot.value for name, slot in body.slots.items() if name != "step"}
    step = Step(str(body.slots["step"].value), details, event.at, _utterance(event))
    dent = _dent(job, body.dent)
    (job.steps if dent is None else dent.steps).append(step)


@apply.register
def _(body: ev.Timed, job: Job, event: ev.Event) -> None:
    timer = job.timer
    _bank(job, event.at)
    if body.action in ("start", "resume"):
        timer.state, timer.running_since, timer.dent = "running", event.at, body.dent
    elif body.action == "pause":
        timer.state = "paused"
    else:
        timer.state = "stopped"


def _turn_timer_to(job: Job, dent: int, at: str) -> None:
    """Another dent is open now: what was worked so far belongs to the one before."""
    if job.timer.state == "running":
        _bank(job, at)
        job.timer.running_since, job.timer.dent = at, dent


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
def _(body: ev.RiskNoted, job: Job, event: ev.Event) -> None:
    dent = _dent(job, body.dent)
    risks = job.risks if dent is None else dent.risks
    risks.extend(risk for risk in body.risks if risk not in risks)


@apply.register
def _(body: ev.Told, job: Job, event: ev.Event) -> None:
    job.told.extend((risk, event.at) for risk in body.risks)


@apply.register
def _(body: ev.Asked, job: Job, event: ev.Event) -> None:
    question = Question(
        body.question, body.slot, body.choices, body.text, body.dent, body.reason, event.at
    )  # fmt: skip
    job.questions[question.id] = question
    found = _questioned(job, question)
    if found is not None:
        found.question = question.id


@apply.register
def _(body: ev.Answered, job: Job, event: ev.Event) -> None:
    question = job.questions.pop(body.question, None)
    if question is None:
        return
    found = _questioned(job, question)
    if found is None:
        return
    value = found.value if body.value is None else body.value
    slot = SlotValue(value, body.words or found.slot.words)
    found.slot, found.question = slot, None
    found.history.append(_past(event, slot, "answered", body.by))


def _questioned(job: Job, question: Question) -> Field | None:
    """The field a question is about: a dent's slot, its last reading, or a detail of the job."""
    dent = _dent(job, question.dent)
    if question.slot == "paint_um" and dent is not None and dent.readings:
        return dent.readings[-1].um
    if question.slot == "reference_um" and job.references:
        return job.references[-1].um
    return job.details.get(question.slot) if dent is None else dent.fields.get(question.slot)


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
    job.memos.append((body.dent, body.clip, event.at))


@apply.register
def _(body: ev.Quoted, job: Job, event: ev.Event) -> None:
    job.quotes.append(Quote(body.version, dict(body.snapshot), event.at, body.supplement_to))


@apply.register
def _(body: ev.QuoteSettled, job: Job, event: ev.Event) -> None:
    for quote in job.quotes:
        if quote.version == body.version:
            quote.accepted = body.accepted


@apply.register
def _(body: ev.Discounted, job: Job, event: ev.Event) -> None:
    job.discount_percent = body.percent


@apply.register
def _(body: ev.Finished, job: Job, event: ev.Event) -> None:
    _bank(job, event.at)
    if job.timer.state == "running":
        job.timer.state = "stopped"
    job.finished_at, job.gaps = event.at, body.gaps
