"""One utterance in, one answer out: from hypothesis to committed events.

    hypothesis -> note -> change -> events in the journal -> outcome

The journal is written before the outcome is returned, so whoever sounds the accept tone
upon it can rely on the note being kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from voicelog.actions.answers import take_answer
from voicelog.actions.change import Change, Context
from voicelog.actions.notes import change_of
from voicelog.actions.whole_note_questions import (
    HARMLESS,
    UNSURE,
    ask_which,
    asked_whole,
    can_be_held,
    held,
    needs_asking,
    verdict,
)
from voicelog.estimate.card.model import Card
from voicelog.grammar import Network
from voicelog.jobs.cautions import Caution, due_cautions
from voicelog.jobs.logbook import Logbook
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


COMPLETE: frozenset[Kind] = frozenset({"time", "undo", "question", "control"})
"""Kinds of utterances that nothing is added to after a pause."""


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
        note = understand_hypothesis(hypothesis, self.region, self.network, self._policy)
        with self.logbook.lock:
            context = self.context(note.words)
            note, change = decide(hypothesis, note, context)
            heard = self._heard(hypothesis, note, change, origin or Origin(), context)
            if not context.state.awake and change.control != "wake":
                return Outcome(replace(heard, decision="rejected"), committed=False)
            self._commit(heard, change, context)
            return Outcome(heard, change.control, waits=self.logbook.pending > 0, cautions=self._cautions())

    def context(self, words: str = "") -> Context:
        """What an action by voice may look at; hold the logbook's lock."""
        self.logbook.refresh()
        return Context(
            self.logbook.state,
            self.region,
            self.card,
            self.logbook.new_group(),
            self._now(),
            words=words,
            understand=lambda other: understand(other, self.region, self.network),
            recall=self.logbook.store.of_group,
        )

    def do(self, change: Change) -> None:
        """Commit a change that comes of no utterance."""
        self.logbook.commit(change.drafts, change.group)

    def _commit(self, heard: ev.Heard, change: Change, context: Context) -> None:
        derived = {"utterance": heard.utterance}
        drafts = [replace(draft, derived=derived) for draft in change.drafts]
        job = next((draft.job for draft in drafts if draft.job), context.state.current)
        self.logbook.commit([Draft(heard, job, derived), *drafts], context.group)

    def is_complete(self, hypothesis: Hypothesis) -> bool:
        """Whether nobody would go on after these words: orders and questions are short."""
        note = understand_hypothesis(hypothesis, self.region, self.network, self._policy)
        answer = note.slots.get("answer")
        return note.kind in COMPLETE or (answer is not None and answer.value in ("yes", "no"))

    def _cautions(self) -> tuple[Caution, ...]:
        """Note the cautions that are due by now on the current job and were not given yet."""
        job = self.logbook.state.job
        if job is None:
            return ()
        due = due_cautions(job, self.card.paint)
        if due:
            self.logbook.commit([Draft(ev.Cautioned(caution.id), job.id) for caution in due])
        return due

    def _heard(
        self, hypothesis: Hypothesis, note: Note, change: Change, origin: Origin, context: Context
    ) -> ev.Heard:
        kept = origin.clip is not None and change.decision != "rejected" and context.state.awake
        return ev.Heard(
            utterance=context.state.utterances + 1,
            source=origin.source,
            start_s=origin.start_s,
            end_s=origin.end_s,
            words=note.words or hypothesis.words,
            confidence=hypothesis.confidence,
            decision=change.decision,
            kind=note.kind,
            slots=note.slots,
            alternatives=tuple(
                {"words": other.words, "confidence": round(other.confidence, 3)}
                for other in hypothesis.alternatives
            ),
            question=change.question,
            answer=change.question if change.decision == "asked" and change.question else change.answer,
            reason=change.reason,
            engine=hypothesis.engine,
            grammar=self.grammar,
            clip=origin.clip() if kept and origin.clip is not None else None,
        )


def decide(hypothesis: Hypothesis, note: Note, context: Context) -> tuple[Note, Change]:
    """What an utterance changes, and the note it turned out to be.

    What is not for us changes nothing; an answer goes to the open question; what is not sure is asked
    about, or stands in the record unconfirmed; the rest is done.
    """
    judged = verdict(hypothesis, note)
    if note.kind == "none" or judged == "not for us":
        note = Note("none", words=note.words, troubles=note.troubles)
        return note, change_of(note, context)
    answered = take_answer(note, context)
    if answered is not None:
        return answered
    note = _meant(note, context)
    if needs_asking(note):
        return note, ask_which(note, context, _doubt_of(note))
    if judged == "unsure" and can_be_held(hypothesis, note):
        note = held(note)
        return note, asked_whole(change_of(note, context), note, context)
    if judged == "unsure" and note.kind not in HARMLESS:
        return note, ask_which(note, context, UNSURE)
    return note, change_of(note, context)


def _meant(note: Note, context: Context) -> Note:
    """What the same words mean where nothing was asked: a lone number a length, a lone "push" a method."""
    other = next((reading for reading in note.readings if reading.words == note.words), None)
    if other is None or context.dent is None:
        return note
    return other if note.kind == "answer" or (note.kind == "step" and _is_method(context)) else note


def _is_method(context: Context) -> bool:
    """Whether a lone "push" says how the open dent will be repaired, not that it was done."""
    dent, job = context.dent, context.job
    return (
        job is not None
        and dent is not None
        and "method" not in dent.fields
        and job.timer.state != "running"
        and not dent.steps
    )


def _doubt_of(note: Note) -> str:
    """Why a note as a whole is in doubt."""
    if note.troubles:
        return note.troubles[0].reason
    return next((f"{name}: {slot.doubt}" for name, slot in note.slots.items() if in_doubt(slot)), "")
