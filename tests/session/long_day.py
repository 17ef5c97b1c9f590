"""Hours of listening at full speed, with the memory as it goes: `python -m tests.session.long_day`.

    python -m tests.session.long_day [--hours 8] [--recogniser]

The demo's recordings are played over and over through segmenter, dialogue, clips and journal.  The
words come from the demo's script, unless `--recogniser` asks for the real engine (which takes about
a fifth of the hours).  A new job begins with every round.
"""

from __future__ import annotations

import argparse
import itertools
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from voicelog.cli.demo import DemoDay, load_day
from voicelog.cli.wiring import open_dialogue, open_ears
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.clips import Clips
from voicelog.journal.verify import verify
from voicelog.listening import Chunk, Recording
from voicelog.recognition.engine import Engine, Sound, Stream
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.listening_loop import Ear


class Script(Engine):
    """Says the demo's script, line after line, whatever it is given."""

    name = "typed"

    def __init__(self, lines: list[str]) -> None:
        self._lines = itertools.cycle(lines)

    def decode(self, sound: Sound) -> Hypothesis:
        return Hypothesis(next(self._lines), engine=self.name)

    def stream(self, partials: bool = True) -> Stream:
        raise NotImplementedError("no partials are asked for")


class Round:
    """The demo's recordings one after the other until so many seconds have gone by."""

    name = "long day"
    warnings: tuple[str, ...] = ()

    def __init__(self, day: DemoDay, seconds: float) -> None:
        self._day, self._seconds = day, seconds
        self.played = 0.0

    def stop(self) -> None:
        self._seconds = 0.0

    def __iter__(self) -> Iterator[Chunk]:
        while self.played < self._seconds:
            for path in self._day.recordings:
                start = self.played
                for chunk in Recording(path):
                    self.played = start + chunk.end_s
                    yield replace(chunk, start_s=start + chunk.start_s)


def memory_mb() -> float:
    """Resident memory of this process now (Linux)."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6


def main() -> None:
    """Listen for hours and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--hours", type=float, default=8.0)
    parser.add_argument("--recogniser", action="store_true")
    given = parser.parse_args()
    day = load_day()
    lines = [text for item in day.script["recording"] for text in item["said"]]
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "journal.db"
        with Logbook.open(log) as logbook:
            dialogue = open_dialogue(logbook, day.card, day.settings)
            engine = open_ears("pocketsphinx", day.settings) if given.recogniser else Script(lines)
            ear = Ear(dialogue, engine, Clips.beside(log))
            source = Round(day, given.hours * 3600)
            next_mark = 0.0
            count = 0
            for _ in ear.hear(source):
                count += 1
                if source.played >= next_mark:
                    print(
                        f"{source.played / 3600:5.2f} h  {count:6d} utterances  {memory_mb():6.0f} MB",
                        flush=True,
                    )
                    next_mark += given.hours * 3600 / 8
            print(f"{source.played / 3600:5.2f} h  {count:6d} utterances  {memory_mb():6.0f} MB")
        report = verify(log, JobViews)
        size = log.stat().st_size / 1e6
    print(f"journal {size:.1f} MB, {report.events} events, {'whole' if report.ok else report.problems}")
    print(f"took {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main()
