"""One utterance in, one answer out: from hypothesis to committed events.

    hypothesis -> note -> plan -> events in the journal -> outcome

The journal is written before the outcome is returned, so whoever sounds the accept tone
upon it can rely on the note being kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from typing import Any

from voicelog.actions.answers import answers_question, open_question, take_answer
from voicelog.actions.change import Desk, Plan, refused
from voicelog.actions.corrections import take_correction, take_undo
from voicelog.actions.dents import take_damage
from voicelog.actions.jobs_and_quotes import take_job, take_step, take_time, take_told
from voicelog.actions.paint_readings import take_reading
from voicelog.actions.replies import take_question
from voicelog.actions.whole_note_questions import (
    HARMLESS,
    UNSURE,
    ask_which,
    asked_whole,
    can_be_held,
    chosen_words,
    held,
    needs_asking,
    note_question,
    verdict,
)
from voicelog.estimate.card.model import Card
from voicelog.grammar import Network
from voicelog.jobs.cautions import Caution, due_cautions
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Question
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.doubt import Policy, in_doubt
from voicelog.meaning.note import Note
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import understand_hypothesis
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.vocabulary import Kind


@dataclass(frozen=True)
class Origin:
    """Where an utterance comes from."""

    source: str = "typed"
    start_s: float = 0.0
    end_s: float = 0.0
    clip: Callable[[], str | None] | None = None
    """Keeps the sound and gives its hash; called only for what is accepted or asked."""


@dataclass(frozen=True)
class Outcome:
    """What became of an utterance."""

    heard: ev.Heard
    control: str = ""
    """An order to the tool: sleep, wake, louder, quieter, memo."""
    committed: bool = True
    """False for what is not for us: nothing of it was written."""
    waits: bool = False
    """The disk refused it for now: it is kept in memory and written as soon as it can be."""
    cautions: tuple[Caution, ...] = ()
    """Cautions that this utterance brought up, each once per job."""

    def to_json(self) -> dict[str, Any]:
        """The line that `hear --json` and `say --json` print."""
        heard = self.heard
        note = Note(heard.kind, heard.slots)
        return {
            "utterance": heard.utterance,
            "source": heard.source,
            "start_s": round(heard.start_s, 2),
            "end_s": round(heard.end_s, 2),
            "words": heard.words,
            "confidence": round(heard.confidence, 3),
            "decision": heard.decision,
            "kind": heard.kind,
            "slots": note.values(),
            "question": heard.question,
            "answer": heard.answer,
            "alternatives": [dict(item) for item in heard.alternatives],
            "doubts": {
                name: slot.to_json() for name, slot in heard.slots.items() if not slot.confirmed or slot.guess
            },
            "reason": heard.reason,
        }


Take = Callable[[Note, Desk], Plan]
TAKES: Mapping[str, Take] = MappingProxyType({
    "damage": take_damage,
    "reading": take_reading,
    "step": take_step,
    "time": take_time,
    "job": take_job,
    "told": take_told,
    "correction": take_correction,
    "undo": take_undo,
    "question": take_question,
})  # fmt: skip


class Dialogue:
    """The session's side of the conversation."""

    def __init__(
        self,
        logbook: Logbook,
        network: Network,
        region: Region,
        card: Card,
        *,
        grammar: str = "",
        policy: Policy | None = None,
        now: Callable[[], datetime] | None = None,
    ) -> None:
        self.logbook = logbook
        self.network = network
        self.region = region
        self.card = card
        self.grammar = grammar
        self._policy = policy
        self._now = now or (lambda: datetime.now().astimezone())

    def take(self, hypothesis: Hypothesis, origin: Origin | None = None) -> Outcome:
        """Take one utterance: decide, commit, answer."""
        origin = origin or Origin()
        note = understand_hypothesis(hypothesis, self.region, self.network, self._policy)
        with self.logbook.lock:
            group = self.logbook.new_group()
            desk = Desk(self.logbook.state, self.region, self.card, group, self._now())
            note, plan = self._judged(hypothesis, note, desk)
            heard = self._heard(hypothesis, note, plan, origin, desk)
            if not desk.state.awake and plan.control != "wake":
                return Outcome(replace(heard, decision="rejected"), committed=False)
            derived = {"utterance": heard.utterance}
            drafts = [replace(draft, derived=derived) for draft in plan.drafts]
            job = next((draft.job for draft in drafts if draft.job), desk.state.current)
            self.logbook.commit([Draft(heard, job, derived), *drafts], group)
            cautions = self._cautions()
            return Outcome(heard, plan.control, waits=self.logbook.pending > 0, cautions=cautions)

    def new_plan(self) -> tuple[Desk, Plan]:
        """An empty plan for something that is no utterance; hold the logbook's lock."""
        group = self.logbook.new_group()
        return Desk(self.logbook.state, self.region, self.card, group, self._now()), Plan()

    def _cautions(self) -> tuple[Caution, ...]:
        """Note the cautions that are due by now on the current job and were not given yet."""
        job = self.logbook.state.job
        if job is None:
            return ()
        due = due_cautions(job, self.card.paint)
        if due:
            self.logbook.commit([Draft(ev.Cautioned(caution.id), job.id) for caution in due])
        return due

    def _judged(self, hypothesis: Hypothesis, note: Note, desk: Desk) -> tuple[Note, Plan]:
        """Reject what is not for us, ask about what is not sure, decide the rest."""
        judged = verdict(hypothesis, note)
        if note.kind == "none" or judged == "not for us":
            return Note("none", words=note.words, troubles=note.troubles), _not_understood(note)
        waiting = note_question(desk)
        if waiting is not None:
            settled = self._settled(note, waiting, desk)
            if settled is not None:
                return settled
        if needs_asking(note):
            return note, ask_which(note, desk, _doubt_of(note))
        if judged == "unsure" and can_be_held(hypothesis, note):
            note, plan = self._decided(held(note), desk)
            return note, asked_whole(plan, note, desk)
        if judged == "unsure" and note.kind not in HARMLESS:
            return note, ask_which(note, desk, UNSURE)
        return self._decided(note, desk)

    def _settled(self, note: Note, waiting: Question, desk: Desk) -> tuple[Note, Plan] | None:
        """What an answer makes of the note that waits; None where it is no answer to it."""
        words = chosen_words(note, waiting)
        job = desk.state.current
        if words is None:
            return None
        if not words:
            plan = Plan(answer="dropped, say it again")
            plan.add(ev.Answered(waiting.id, None, note.words), job)
            return note, plan
        found = understand(words, self.region, self.network)
        found, plan = self._decided(found, desk)
        plan.drafts.insert(0, Draft(ev.Answered(waiting.id, words, note.words), job))
        return note if note.kind == "answer" else found, plan

    def _decided(self, note: Note, desk: Desk) -> tuple[Note, Plan]:
        """The plan for a note, and the reading of the note that it is for."""
        if note.kind == "none":
            return note, _not_understood(note)
        if note.kind == "control":
            return note, self._control(note, desk)
        question = open_question(desk)
        if note.kind == "answer" or (question is not None and answers_question(note, question)):
            plan = take_answer(note, desk)
            if plan is not None:
                return (note if note.kind == "answer" else replace(note, kind="answer")), plan
            other = _same_words(note)
            if other is None or desk.dent is None:
                return note, refused("no question is open", "nothing was asked")
            note = other
        if note.kind == "step" and _is_method(note, desk):
            note = _same_words(note) or note
        return note, TAKES[note.kind](note, desk)

    def _control(self, note: Note, desk: Desk) -> Plan:
        said = str(note.slots["control"].value)
        plan = Plan(control=said, answer={"sleep": "asleep", "wake": "listening"}.get(said, said))
        job = desk.state.current
        dent = None if desk.dent is None else desk.dent.number
        if said in ("sleep", "wake"):
            plan.add(ev.ListeningChanged(said == "wake"), None)
        elif said == "understood":
            self._acknowledge(plan, desk)
        elif said == "photo":
            if desk.job is None:
                return refused("no job is open", "no job is open yet")
            number = max((photo for photo, _, _ in desk.job.photos), default=0) + 1
            plan.add(ev.PhotoMarked(number, dent), job)
            plan.answer = f"photo {number}"
        elif said == "memo":
            plan.answer = "memo, speak now"
        return plan

    def _acknowledge(self, plan: Plan, desk: Desk) -> None:
        open_cautions = [] if desk.job is None else [c for c, seen in desk.job.cautions.items() if not seen]
        for caution in open_cautions:
            plan.add(ev.Understood(caution), desk.state.current)
        plan.answer = "understood" if open_cautions else "no caution is open"

    def _heard(self, hypothesis: Hypothesis, note: Note, plan: Plan, origin: Origin, desk: Desk) -> ev.Heard:
        answer = plan.answer if plan.decision != "asked" or plan.question is None else plan.question
        kept = origin.clip is not None and plan.decision != "rejected" and desk.state.awake
        kind: Kind = plan.kind or note.kind
        return ev.Heard(
            utterance=desk.state.utterances + 1,
            source=origin.source,
            start_s=origin.start_s,
            end_s=origin.end_s,
            words=note.words or hypothesis.words,
            confidence=hypothesis.confidence,
            decision=plan.decision,
            kind=kind,
            slots=note.slots,
            alternatives=tuple(
                {"words": other.words, "confidence": round(other.confidence, 3)}
                for other in hypothesis.alternatives
            ),
            question=plan.question,
            answer=answer,
            reason=plan.reason,
            engine=hypothesis.engine,
            grammar=self.grammar,
            clip=origin.clip() if kept and origin.clip is not None else None,
        )


def _not_understood(note: Note) -> Plan:
    reason = note.troubles[0].reason if note.troubles else "not understood"
    return Plan("rejected", answer="not understood", reason=reason)


def _same_words(note: Note) -> Note | None:
    """What the same words mean elsewhere: a lone number a length, a lone "push" a method."""
    return next((other for other in note.readings if other.words == note.words), None)


def _doubt_of(note: Note) -> str:
    """Why a note as a whole is in doubt."""
    if note.troubles:
        return note.troubles[0].reason
    return next((f"{name}: {slot.doubt}" for name, slot in note.slots.items() if in_doubt(slot)), "")


def _is_method(note: Note, desk: Desk) -> bool:
    """Whether a lone "push" says how the open dent will be repaired, not that it was done."""
    dent, job = desk.dent, desk.job
    return (
        _same_words(note) is not None
        and job is not None
        and dent is not None
        and "method" not in dent.fields
        and job.timer.state != "running"
        and not dent.steps
    )
