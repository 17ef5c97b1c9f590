"""Recordings through the whole ear, and what became of every utterance."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tests.speech.noise import RATE, Samples
from tests.speech.recordings import Corpus, Recording, Said
from tests.speech.rows import Cost, Row
from voicelog.cli.wiring import open_card, open_dialogue
from voicelog.grammar import Network, load_grammar
from voicelog.jobs.logbook import Logbook
from voicelog.listening import Chunk, Segment
from voicelog.listening.converter import Converter
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import Engine
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session import reports as fd
from voicelog.session.dialogue import Dialogue, Outcome
from voicelog.session.listening_loop import Ear
from voicelog.settings import Settings

PREPARED = ("new job", "roof steel thirty mil")
"""What every utterance finds in the record, so that corrections and readings have something to be about."""
OURS = "voicelog.jsgf"


class SimulatedTime:
    """A recording as a source, and when the work on each chunk would be done if it came in real time.

    Work counts by the clock or by the processor, whichever is less: others use the machine meanwhile, and
    two threads use two processors.
    """

    began, fingerprint = None, ""

    def __init__(self, name: str, samples: Samples) -> None:
        self.name, self.warnings = name, list[str]()
        self.spent_s = 0.0
        self._samples, self._ready = samples, 0.0
        self._mark()

    def __iter__(self) -> Iterator[Chunk]:
        converter = Converter(RATE, self.name)
        floats = (self._samples / 32768).astype(np.float32)[:, None]
        for chunk in converter.push(floats, last=True):
            self._ready = max(self._ready, chunk.end_s)
            self._mark()
            yield chunk
            worked = self._worked()
            self._ready += worked
            self.spent_s += worked

    def _mark(self) -> None:
        self._clock, self._processor, self._left_out = time.perf_counter(), time.process_time(), 0.0

    def _worked(self) -> float:
        spent = min(time.perf_counter() - self._clock, time.process_time() - self._processor)
        return spent - self._left_out

    def now(self) -> float:
        """Seconds of simulated real time since the start of the source."""
        return self._ready + self._worked()

    def leave_out(self, seconds: float) -> None:
        """Do not count work that only the benchmark does."""
        self._left_out += seconds

    def stop(self) -> None:
        """End the iteration; nothing here is endless."""


class Judge:
    """Takes an answer to the record, or to the slots of a manifest, and says what became of it."""

    def __init__(self, corpus: Corpus, engine: Engine) -> None:
        assert corpus.grammar is not None
        self.network = load_grammar(corpus.grammar).network()
        self.names = {name for item in corpus.recordings if item.slots for name in item.slots}
        self._limits = None if corpus.grammar.name == OURS else calibration(engine.name.split()[0])
        given = Settings()
        self.dialogue = open_dialogue(Logbook.in_memory(), open_card(None, given), given)
        self._typed: dict[str, Outcome] = {}

    @property
    def ours(self) -> bool:
        """Whether the language is that of the dialogue."""
        return self._limits is None

    def fresh(self) -> Dialogue:
        """The dialogue over a record with one job and one dent."""
        self.dialogue.logbook.close()
        self.dialogue.logbook = Logbook.in_memory()
        for words in PREPARED:
            self.dialogue.take(Hypothesis(words, engine="typed"))
        return self.dialogue

    def typed(self, words: str) -> Outcome:
        """What becomes of the words when they are typed."""
        if words not in self._typed:
            self._typed[words] = self.fresh().take(Hypothesis(words, engine="typed"))
        return self._typed[words]

    def decided(self, words: str, outcome: Outcome) -> tuple[str, bool, tuple[int, int, int]]:
        """Decision, whether right, and slots, of an answer that has gone through the dialogue."""
        got, truth = outcome.heard, self.typed(words).heard
        right = got.kind == truth.kind and values(outcome) == values(self.typed(words))
        # A refusal that typed words meet too ("there is no dent 2") is no doubt about what was heard.
        same = right and (got.decision, got.reason) == (truth.decision, truth.reason)
        return (
            "accepted" if same else got.decision,
            right,
            counted(values(self.typed(words)), values(outcome)),
        )

    def answered(self, recording: Recording, answer: Hypothesis) -> tuple[str, bool, tuple[int, int, int]]:
        """The same for an answer to a recording of one utterance."""
        if self._limits is None:
            return self.decided(recording.words or "", self.fresh().take(answer))
        found = slots_of(self.network, answer.words, self.names) or {}
        decision = "rejected" if not answer.words or answer.confidence < self._limits.reject else "asked"
        decision = "accepted" if answer.words and answer.confidence >= self._limits.accept else decision
        return decision, found == recording.slots, counted(recording.slots or {}, found)

    def any_right(self, recording: Recording, others: list[str]) -> bool:
        """Whether one of the alternatives means what was said."""
        if self._limits is not None:
            return any(slots_of(self.network, words, self.names) == recording.slots for words in others)
        return any(values(self.typed(words)) == values(self.typed(recording.words or "")) for words in others)


def values(outcome: Outcome) -> dict[str, Any]:
    """The slots of an outcome in their plain form."""
    return dict(outcome.to_json()["slots"])


def counted(said: dict[str, Any], heard: dict[str, Any]) -> tuple[int, int, int]:
    """How many slots were said, heard as said, and heard without being said."""
    same = sum(heard.get(name) == value for name, value in said.items())
    return len(said), same, len(heard.keys() - said.keys())


def slots_of(network: Network, words: str, names: set[str]) -> dict[str, str] | None:
    """The words of each named rule in the likeliest parse; None when it is no sentence."""
    said = words.split()
    parses = network.match(said, 1)
    if not parses:
        return None
    return {
        name: " ".join(said[node.start : node.end]) for name in names for node in parses[0].root.find(name)
    }


@dataclass
class Taken:
    """One segment on its way through the ear."""

    segment: Segment
    answer: Hypothesis
    outcome: Outcome
    latency_s: float
    spent_s: float


class MeasuredEar(Ear):
    """An ear that notes what became of every segment, and gives each a fresh record."""

    judge: Judge
    taken: list[Taken]
    partials_heard: int = 0

    def decide(self, segment: Segment, hypothesis: Hypothesis, source: Any) -> Outcome:
        """As the ear does, with the time at which it was done."""
        outcome = super().decide(segment, hypothesis, source)
        done = source.now()
        before = sum(item.spent_s for item in self.taken)
        self.taken.append(Taken(segment, hypothesis, outcome, done - segment.end_s, source.spent_s - before))
        self.judge.fresh()
        source.leave_out(source.now() - done)
        return outcome

    def count(self, item: fd.FeedItem) -> None:
        """Take a report of the ear."""
        self.partials_heard += isinstance(item, fd.Partial)


def whole_way(
    engine: Engine,
    judge: Judge,
    recording: Recording,
    level: str,
    samples: Samples,
    cost: Cost,
    live: bool = False,
) -> list[Row]:
    """A recording through voice activity, segmenter, recogniser and dialogue."""
    ear = MeasuredEar(judge.fresh(), engine, partials=live)
    ear.judge, ear.taken, ear.feed = judge, [], ear.count
    source = SimulatedTime(recording.path.name, samples)
    for _ in ear.hear(source):
        pass
    cost.sound_s += len(samples) / RATE
    cost.spent_s += source.spent_s
    speech = sum(item.segment.speech_end_s - item.segment.speech_start_s for item in ear.taken)
    if speech and live:
        cost.partials_per_s.append(ear.partials_heard / speech)
    return [*said_rows(judge, recording, level, ear.taken), *unsaid_rows(recording, level, ear.taken)]


def overlap(said: Said, segment: Segment) -> float:
    """Seconds of an utterance that lie in a segment."""
    return max(0.0, min(said.end_s, segment.end_s) - max(said.start_s, segment.start_s))


def said_rows(judge: Judge, recording: Recording, level: str, taken: list[Taken]) -> Iterator[Row]:
    """A row for each utterance: what became of the segment that holds most of it."""
    utterances = recording.said or ()
    for said in utterances:
        ours = [item for item in taken if overlap(said, item.segment) > 0.1]
        blank = blank_row(recording, level, True, said.words, said.end_s - said.start_s)
        slots = values(judge.typed(said.words))
        if not ours:
            yield replace(blank, slots=(len(slots), 0, 0), segments=0)
            continue
        most = max(ours, key=lambda item: overlap(said, item.segment))
        row = row_of(blank, most)
        row.decision, row.right, row.slots = judge.decided(said.words, most.outcome)
        row.alternative_right = judge.any_right(replace(recording, words=said.words), row.alternatives)
        row.segments = len(ours)
        row.merged = sum(overlap(other, most.segment) > 0.1 for other in utterances) > 1
        yield row


def unsaid_rows(recording: Recording, level: str, taken: list[Taken]) -> Iterator[Row]:
    """A row for each segment in which nothing was said to us."""
    for item in taken:
        if not any(overlap(said, item.segment) > 0.1 for said in recording.said or ()):
            row = row_of(blank_row(recording, level, False, "", 0.0), item)
            row.decision = item.outcome.heard.decision
            yield row


def blank_row(recording: Recording, level: str, for_us: bool, said: str, seconds: float) -> Row:
    """A row for something of which nothing was heard yet."""
    return Row(
        recording.path.name, recording.voice, recording.split, level, for_us, said, heard="", right=False,
        decision="rejected", confidence=0.0, alternatives=[], alternative_right=False, seconds=seconds,
        spent_s=0.0,
    )  # fmt: skip


def row_of(blank: Row, item: Taken) -> Row:
    """A row with what the engine said of a segment."""
    row = with_answer(blank, item.answer)
    return replace(
        row, seconds=len(item.segment.samples) / RATE, spent_s=item.spent_s, latency_s=item.latency_s
    )


def with_answer(row: Row, answer: Hypothesis) -> Row:
    """A row with an answer in it."""
    return replace(
        row, heard=answer.words, confidence=answer.confidence, scores=dict(answer.scores),
        alternatives=[item.words for item in answer.alternatives],
        chances=[item.confidence for item in answer.alternatives],
        free=getattr(answer, "heard", ""),
    )  # fmt: skip


def at_once(
    engine: Engine, judge: Judge, recording: Recording, level: str, samples: Samples, cost: Cost
) -> list[Row]:
    """A recording of one utterance, decoded as it is."""
    began = time.perf_counter()
    answer = engine.decode(samples)
    spent = time.perf_counter() - began
    cost.sound_s += len(samples) / RATE
    cost.spent_s += spent
    said = (recording.words or "") if recording.slots is None else json.dumps(recording.slots)
    row = with_answer(blank_row(recording, level, recording.for_us, said, len(samples) / RATE), answer)
    row.spent_s = spent
    if recording.for_us:
        row.decision, row.right, row.slots = judge.answered(recording, answer)
        row.alternative_right = judge.any_right(recording, row.alternatives)
    else:
        row.decision = judge.answered(recording, answer)[0]
    return [row]


def baseline() -> float:
    """Seconds for a fixed piece of work."""
    began = time.perf_counter()
    assert sum(number & 7 for number in range(3_000_000)) > 0
    return time.perf_counter() - began
