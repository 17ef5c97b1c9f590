"""One utterance in, one answer out: from hypothesis to committed events.

    hypothesis -> note -> change -> events in the journal -> outcome

The journal is written before the outcome is returned, so whoever sounds the accept tone
upon it can rely on the note being kept.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import PurePath
from typing import Any

from voicelog.actions.change import Change, Context
from voicelog.actions.decide import decide
from voicelog.estimate.card.model import Card
from voicelog.estimate.invoices import Office
from voicelog.grammar import Network
from voicelog.jobs.cautions import Caution, due_cautions
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.doubt import Policy
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import told_freely, understand_hypothesis
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.vocabulary import Kind


@dataclass(frozen=True)
class Origin:
    """Where an utterance comes from."""

    source: str = "typed"
    start_s: float = 0.0
    end_s: float = 0.0
    recording: str = ""
    """SHA-256 of the recording; empty for a microphone and for typed words."""
    clip: Callable[[], str | None] | None = None
    """Keeps the sound and gives its hash; called only for what is accepted or asked."""


@dataclass(frozen=True)
class Outcome:
    """What became of an utterance."""

    heard: ev.Heard
    transcript: str = ""
    """What was heard without the grammar; of talk that is not for us it is told once and kept nowhere."""
    control: str = ""
    """An order to the tool: sleep, wake, louder, quieter, memo."""
    committed: bool = True
    """False for what is not for us: nothing of it was written."""
    waits: bool = False
    """The disk refused it for now: it is kept in memory and written as soon as it can be."""
    source: str = ""
    """Where it comes from, as it was given; the journal knows a file by its name only."""
    cautions: tuple[Caution, ...] = ()
    """Cautions that this utterance brought up, each once per job."""

    def to_json(self) -> dict[str, Any]:
        """The line that `hear --json` and `say --json` print."""
        heard = self.heard
        note = Note(heard.kind, heard.slots)
        return {
            "utterance": heard.utterance,
            "source": self.source or heard.source,
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
            "kept": list(heard.kept),
            "reason": heard.reason,
            "heard": self.transcript,
            "durable": not self.waits,
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
        office: Office | None = None,
        closes_clock: bool = False,
        puts_off: bool = False,
        now: Callable[[], datetime] | None = None,
    ) -> None:
        self.logbook = logbook
        self.network = network
        self.region = region
        self.card = card
        self.grammar = grammar
        self._policy = policy
        self.office = office or Office()
        self.closes_clock = closes_clock
        self.puts_off = puts_off
        self._given_now = now

    def _now(self) -> datetime:
        return self._given_now() if self._given_now else self.logbook.clock.now()

    def take(self, hypothesis: Hypothesis, origin: Origin | None = None) -> Outcome:
        """Take one utterance: decide, commit, answer."""
        hypothesis = told_freely(hypothesis, self.region, self.network)
        note = understand_hypothesis(hypothesis, self.region, self.network, self._policy)
        with self.logbook.lock:
            context = self.context(note.words)
            note, change = decide(hypothesis, note, context)
            origin = origin or Origin()
            heard = self._heard(hypothesis, note, change, origin, context)
            if not context.state.awake and change.control != "wake":
                return Outcome(
                    replace(heard, decision="rejected", heard=""), committed=False, source=origin.source
                )
            self._commit(heard, change, context, origin.recording)
            told = hypothesis.heard or hypothesis.words
            waits, cautions = self.logbook.pending > 0, self._cautions()
            return Outcome(heard, told, change.control, waits=waits, source=origin.source, cautions=cautions)

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
            office=self.office,
            device=self.logbook.store.device,
            closes_clock=self.closes_clock,
            puts_off=self.puts_off,
            invoices=lambda: self.logbook.events(kind=ev.Invoiced.TYPE),
        )

    def do(self, change: Change) -> None:
        """Commit a change that comes of no utterance."""
        self.logbook.commit(change.drafts, change.group)

    def _commit(self, heard: ev.Heard, change: Change, context: Context, recording: str) -> None:
        derived = {"utterance": heard.utterance}
        origin = {"recording": recording} if recording else {}
        drafts = [replace(draft, derived=derived) for draft in change.drafts]
        job = next((draft.job for draft in drafts if draft.job), context.state.current)
        self.logbook.commit([Draft(heard, job, derived | origin), *drafts], context.group)

    def is_complete(self, hypothesis: Hypothesis) -> bool:
        """Whether nobody would go on after these words: orders and questions are short."""
        hypothesis = told_freely(hypothesis, self.region, self.network)
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
            source=PurePath(origin.source).name,
            start_s=origin.start_s,
            end_s=origin.end_s,
            words=note.words or hypothesis.words,
            confidence=hypothesis.confidence,
            decision=change.decision,
            kind=note.kind,
            slots=_slots_of(note),
            alternatives=tuple(
                {"words": other.words, "confidence": round(other.confidence, 3)}
                for other in hypothesis.alternatives
            ),
            question=change.question,
            answer=change.question if change.decision == "asked" and change.question else change.answer,
            reason=change.reason,
            heard="" if change.decision == "rejected" else hypothesis.heard or hypothesis.words,
            kept=note.kept,
            engine=hypothesis.engine,
            grammar=self.grammar,
            clip=origin.clip() if kept and origin.clip is not None else None,
        )


def _slots_of(note: Note) -> dict[str, SlotValue]:
    """The slots of all notes of one breath; of two values the first."""
    slots: dict[str, SlotValue] = {}
    for one in (note, *note.further):
        slots |= {name: slot for name, slot in one.slots.items() if name not in slots}
    return slots
