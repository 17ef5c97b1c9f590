"""What the session makes of one note: the decision, the events to commit, and what is said back."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from voicelog.estimate.card.model import Card
from voicelog.jobs.records import Dent, Job, State
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import SlotValue, Value
from voicelog.meaning.region import Region
from voicelog.meaning.wording import question_text
from voicelog.vocabulary import Decision, Kind


@dataclass(frozen=True)
class Desk:
    """All that a decision may look at; nothing of it is changed."""

    state: State
    region: Region
    card: Card
    group: str
    """Id of the group that the utterance's events will share."""
    now: datetime

    @property
    def job(self) -> Job | None:
        """The current job."""
        return self.state.job

    @property
    def dent(self) -> Dent | None:
        """The open dent of the current job."""
        job = self.job
        return None if job is None or job.open_dent is None else job.dents.get(job.open_dent)


@dataclass
class Plan:
    """Drafts in the order in which they count, and the answer."""

    decision: Decision = "accepted"
    drafts: list[Draft] = field(default_factory=list)
    answer: str = ""
    question: str | None = None
    reason: str = ""
    kind: Kind | None = None
    """The kind that the note turned out to be, where that is another than the grammar's."""
    control: str = ""
    """An order to the tool itself: sleep, wake, louder, quieter, memo."""

    def add(self, body: ev.Body, job: str | None) -> None:
        """Append an event of a job."""
        self.drafts.append(Draft(body, job))

    def ask(self, body: ev.Asked, job: str) -> None:
        """Append a question; the first one is the one spoken."""
        self.add(body, job)
        self.decision = "asked"
        if self.question is None:
            self.question = body.text
            self.reason = f"{body.slot}: {body.reason}" if body.reason else body.slot


def refused(reason: str, answer: str) -> Plan:
    """Nothing is changed, and the speaker is told why."""
    return Plan("asked", answer=answer, question=answer, reason=reason)


def job_for(desk: Desk, plan: Plan) -> str:
    """The id of the current job; opens one where there is none, so that no note is lost."""
    if desk.job is not None:
        return desk.job.id
    return open_job(desk, plan)


def open_job(desk: Desk, plan: Plan) -> str:
    """Open the next job."""
    number = max((known.number for known in desk.state.opened.values()), default=0) + 1
    plan.add(ev.JobOpened(number), desk.group)
    return desk.group


def ask_about(
    desk: Desk, plan: Plan, job: str, dent: int | None, slot: str, held: SlotValue, text: str = ""
) -> None:
    """Ask for a slot in doubt, both ways, or by a question of its own."""
    choices: tuple[Value, ...] = (held.value, *held.alternatives)
    text = text or question_text(slot, held, desk.region)
    plan.ask(ev.Asked(question_id(desk, plan), slot, choices, text, dent, held.doubt), job)


def question_id(desk: Desk, plan: Plan) -> str:
    """An id for the next question of this utterance."""
    asked = sum(isinstance(draft.body, ev.Asked) for draft in plan.drafts)
    return f"{desk.group}.{asked + 1}"
