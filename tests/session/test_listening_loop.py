"""The loop from sound to outcome, with an engine that says a script."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from voicelog.answering import SilentAnswerer
from voicelog.cli.demo import load_day
from voicelog.cli.wiring import asleep_path, open_dialogue
from voicelog.jobs.logbook import Logbook
from voicelog.listening import Recording, Segment
from voicelog.recognition.engine import Engine, Sound, Stream
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.listening_loop import Ear

SAID = ["start work", "stop listening", "start work", "start listening", "price"]


class Scripted(Engine):
    """Says one line after another, and notes what it is told to search for."""

    name = "typed"

    def __init__(self) -> None:
        self.searched: list[Path | None] = []
        self.streams = 0

    def only(self, grammar: Path | None) -> None:
        self.searched.append(grammar)

    def decode(self, sound: Sound) -> Hypothesis:
        number = len(self.searched) - 1  # one search is chosen as each utterance begins
        return Hypothesis(SAID[number] if number < len(SAID) else "price", engine=self.name)

    def stream(self, partials: bool = True) -> Stream:
        self.streams += 1
        return Stream(self)


def test_asleep_the_engine_is_told_to_search_for_the_wake_phrase_alone(tmp_path: Path) -> None:
    day, engine = load_day(), Scripted()
    with Logbook.open(tmp_path / "journal.db") as logbook:
        ear = Ear(open_dialogue(logbook, day.card, day.settings), engine, asleep=asleep_path(), partials=True)
        outcomes = [outcome for outcome, _ in zip(ear.hear(Recording(day.recordings[0])), SAID, strict=False)]
    awake, small = None, asleep_path()
    assert engine.searched[: len(SAID)] == [awake, awake, small, small, awake]
    assert [outcome.committed for outcome in outcomes] == [True, True, False, True, True]
    assert engine.streams == engine.searched.count(None), "no partial words while asleep"


def test_a_refusal_says_why_and_talk_in_the_room_gets_no_answer(tmp_path: Path) -> None:
    day, answerer = load_day(), SilentAnswerer()
    segment = Segment(np.zeros(1600, np.int16), 0.0, 0.1, 0.0, 0.1, -30.0, clipped=False)
    source = Recording(day.recordings[0])
    with Logbook.open(tmp_path / "journal.db") as logbook:
        ear = Ear(open_dialogue(logbook, day.card, day.settings), Scripted(), answerer=answerer)
        ear.decide(segment, Hypothesis("new job", engine="typed"), source)
        refused = ear.decide(segment, Hypothesis("quote accepted", engine="typed"), source)
        ear.decide(segment, Hypothesis("the kettle is on", engine="typed"), source)
    assert refused.heard.decision == "rejected"
    spoken = [text for kind, text in answerer.given if kind == "speak"]
    assert spoken == ["new job", "no quote was given yet"]
