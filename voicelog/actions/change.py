"""One change of the record: what an action may look at, and what it makes.

An action is a function `(context, explicit arguments) -> Change`.  Voice and desk call the same
ones: a spoken note is translated into calls by `voicelog.actions.notes`, the desk calls them
itself.  A refusal is a change that drafts nothing and says why.
"""

from __future__ import annotations

from collections import ChainMap
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from voicelog.estimate.card.model import Card
from voicelog.estimate.invoices import Office
from voicelog.jobs.changes import tried
from voicelog.jobs.records import Dent, Job, State
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import Note, SlotValue, Value
from voicelog.meaning.region import Region
from voicelog.meaning.wording import question_text
from voicelog.vocabulary import Decision, Kind


def _nothing(words: str) -> Note:
    return Note("none", words=words)


@dataclass(frozen=True)
class Context:
    """All that an action may look at; nothing of it is changed."""

    state: State
    region: Region
    card: Card
    group: str
    """Id of the group that the events of the change will share."""
    now: datetime
    by: ev.By = "voice"
    words: str = ""
    """What was said; empty by hand."""
    looked_at: str | None = None
    """Id of the job that the desk looks at; None for the current one."""
    understand: Callable[[str], Note] = _nothing
    """The note that other words would be."""
    recall: Callable[[str], Sequence[ev.Event]] = lambda group: ()
    """The events of a group."""
    office: Office = field(default_factory=Office)
    """What the settings say about invoices."""
    device: str = ""
    """Whose series of invoice numbers is counted on."""
    invoices: Callable[[], Iterable[ev.Event]] = tuple
    """Every `Invoiced` event of the journal."""
    closes_clock: bool = False
    """Whether a job that is finished stops its clock without a question."""
    puts_off: bool = False
    """Whether what may have been misheard waits for the review, unasked."""
    sure: bool = False
    """Whether what contradicts the state of the job was asked about, and the answer was yes."""

    @property
    def job(self) -> Job | None:
        """The job that is meant."""
        return self.state.job if self.looked_at is None else self.state.jobs.get(self.looked_at)

    @property
    def dent(self) -> Dent | None:
        """The open dent of the job."""
        job = self.job
        return None if job is None or job.open_dent is None else job.dents.get(job.open_dent)

    def find(self, dent: int | None) -> Dent | None:
        """A dent of the job by its number."""
        return None if self.job is None or dent is None else self.job.dents.get(dent)

    def change(self, answer: str = "") -> Change:
        """An empty change."""
        return Change(answer=answer, by=self.by, group=self.group)

    def after(self, change: Change) -> Context:
        """What the context would be with the change; neither the record nor the journal changes."""
        state, current = self.state, self.state.current
        bodies: dict[str, list[ev.Body]] = {}
        for draft in change.drafts:
            key = draft.job or change.group
            bodies.setdefault(key, []).append(draft.body)
            if isinstance(draft.body, ev.JobOpened | ev.JobSelected):
                current = key
        new = {
            key: Job(key, body.number, self.now.isoformat())
            for key, made in bodies.items()
            for body in made
            if isinstance(body, ev.JobOpened)
        }
        jobs = {
            key: tried(new.get(key) or state.jobs[key], made, change.group)
            for key, made in bodies.items()
            if key in new or key in state.jobs
        }
        return replace(self, state=replace(state, jobs=ChainMap(jobs, state.jobs), current=current))  # type: ignore[arg-type]

    def at(self, dent: int | None) -> Context:
        """The same with another dent open; None leaves it as it is."""
        if self.job is None or dent not in self.job.dents:
            return self
        there = {self.job.id: replace(self.job, open_dent=dent)}
        return replace(self, state=replace(self.state, jobs=ChainMap(there, self.state.jobs)))  # type: ignore[arg-type]


@dataclass
class Change:
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
    by: ev.By = "voice"
    group: str = ""

    @property
    def refused(self) -> bool:
        """Whether nothing was done, for the reason that `answer` gives."""
        return self.decision == "rejected" and not self.drafts

    def add(self, body: ev.Body, job: str | None) -> None:
        """Append an event of a job, with who made it."""
        signed = replace(body, by=self.by) if hasattr(body, "by") else body  # type: ignore[call-arg]
        self.drafts.append(Draft(signed, job))

    def ask(
        self,
        job: str,
        slot: str,
        choices: Sequence[Value],
        text: str,
        dent: int | None = None,
        reason: str = "",
        would: Sequence[Sequence[ev.Body]] = (),
    ) -> None:
        """Append a question; the first one is the one spoken."""
        number = 1 + sum(isinstance(draft.body, ev.Asked) for draft in self.drafts)
        made = tuple(tuple(ev.with_type(body) for body in choice) for choice in would)
        self.add(ev.Asked(f"{self.group}.{number}", slot, tuple(choices), text, dent, reason, made), job)
        self.decision = "asked"
        if self.question is None:
            self.question = text
            self.reason = f"{slot}: {reason}" if reason else slot

    def say(self, text: str) -> None:
        """Go on with the answer."""
        self.answer = ", ".join(part for part in (self.answer, text) if part)


def refused(reason: str, answer: str) -> Change:
    """Nothing is changed, and whoever asked for it is told why."""
    return Change("rejected", answer=answer, reason=reason)


def ask_first(context: Context, order: str, text: str) -> Change:
    """Ask before what contradicts the state of the job: yes does the order, no leaves all as it is.

    Args:
        context: the job.
        order: words of the spoken language; they are understood when the answer comes.
        text: the state and the question: "the clock is running since 09:12; start anew?".
    """
    why = text.partition(";")[0]
    if context.job is None:
        return refused(why, why)
    change = context.change()
    for before in context.job.waiting:
        if before.slot == NOTE and before.choices == (order,):
            change.add(ev.Answered(before.id, None), context.job.id)
    change.ask(context.job.id, NOTE, (order,), text, reason=why)
    return change


def joined(first: Change, second: Change) -> Change:
    """Two changes of one breath as one; what is refused of the second is said."""
    number = sum(isinstance(draft.body, ev.Asked) for draft in first.drafts)
    for draft in second.drafts:
        body = draft.body
        if isinstance(body, ev.Asked):
            number += 1
            body = replace(body, question=f"{first.group}.{number}")
        first.drafts.append(replace(draft, body=body))
    if second.question is not None and first.question is None:
        first.decision, first.question, first.reason = second.decision, second.question, second.reason
    elif first.decision in ("rejected", "kept") and not first.drafts:
        first.decision, first.reason = second.decision, second.reason
    first.control = first.control or second.control
    first.say(second.answer)
    return first


NOTE = "note"
"""The slot of a question about a whole note; its choices are words."""
NO_JOB = "no job is open yet"
NO_CHANGE = "nothing would change"


def job_for(context: Context, change: Change) -> str:
    """The id of the job; opens one where there is none, so that no note is lost."""
    return begin_job(context, change) if context.job is None else context.job.id


def begin_job(context: Context, change: Change) -> str:
    """Open the next job."""
    number = max((known.number for known in context.state.opened.values()), default=0) + 1
    change.add(ev.JobOpened(number), context.group)
    return context.group


def ask_about(
    context: Context, change: Change, job: str, dent: int | None, slot: str, held: SlotValue, text: str = ""
) -> None:
    """Ask for a slot in doubt, both ways, or by a question of its own."""
    text = text or question_text(slot, held, context.region)
    change.ask(job, slot, (held.value, *held.alternatives), text, dent, held.doubt)


def differing(held: Mapping[str, SlotValue], slots: Mapping[str, SlotValue]) -> dict[str, SlotValue]:
    """The slots that say another value than is held, or the same where that was in doubt."""
    return {
        name: slot
        for name, slot in slots.items()
        if name not in held or held[name].value != slot.value or not (held[name].confirmed and slot.confirmed)
    }
