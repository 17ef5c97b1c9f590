"""The loop from sound to outcome, with an engine that says a script."""

from __future__ import annotations

from pathlib import Path

from voicelog.cli.demo import load_day
from voicelog.cli.wiring import asleep_path, open_dialogue
from voicelog.jobs.logbook import Logbook
from voicelog.listening import Recording
from voicelog.recognition.engine import Engine, Sound, Stream, WholeStream
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
        return WholeStream(self)


def test_asleep_the_engine_is_told_to_search_for_the_wake_phrase_alone(tmp_path: Path) -> None:
    day, engine = load_day(), Scripted()
    with Logbook.open(tmp_path / "journal.db") as logbook:
        ear = Ear(open_dialogue(logbook, day.card, day.settings), engine, asleep=asleep_path(), partials=True)
        outcomes = [outcome for outcome, _ in zip(ear.hear(Recording(day.recordings[0])), SAID, strict=False)]
    awake, small = None, asleep_path()
    assert engine.searched[: len(SAID)] == [awake, awake, small, small, awake]
    assert [outcome.committed for outcome in outcomes] == [True, True, False, True, True]
    assert engine.streams == engine.searched.count(None), "no partial words while asleep"
