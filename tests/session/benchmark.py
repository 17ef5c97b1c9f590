"""Measures a session on the demo's recordings: `python -m tests.session.benchmark [--engine NAME]`.

Prints start-up time, real-time factor, the time from the end of the silence window to the committed
event if the sound came in real time, and peak memory, with a journal on disk.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.speech.hearing import SimulatedTime, baseline
from tests.speech.recordings import read_sound
from tests.speech.rows import percentile
from voicelog.cli.demo import load_day
from voicelog.cli.wiring import asleep_path, open_dialogue, open_ears
from voicelog.jobs.logbook import Logbook
from voicelog.journal.clips import Clips
from voicelog.session.listening_loop import Ear


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engine", default="auto")
    given = parser.parse_args()
    began = time.perf_counter()
    day = load_day()
    late: list[float] = []
    decisions: Counter[str] = Counter()
    sound = spent = 0.0
    with tempfile.TemporaryDirectory() as folder, Logbook.open(Path(folder) / "journal.db") as logbook:
        engine = open_ears(given.engine, day.settings)
        dialogue = open_dialogue(logbook, day.card, day.settings)
        ear = Ear(dialogue, engine, Clips.beside(Path(folder) / "journal.db"), partials=True)
        ear.asleep = asleep_path()
        ready = time.perf_counter() - began
        for path in day.recordings:
            source = SimulatedTime(path.name, read_sound(path))
            for outcome in ear.hear(source):
                late.append(source.now() - outcome.heard.end_s)
                decisions[outcome.heard.decision] += 1
            sound += source.now()
            spent += source.spent_s
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"engine                     {engine.name}")
    print(f"start-up to listening      {ready:6.2f} s")
    print(f"utterances                 {len(late):6d}   {dict(decisions)}")
    print(f"real-time factor           {spent / sound:6.3f}")
    print(f"silence window to commit   {percentile(late, 0.5):6.2f} s median")
    print(f"                           {percentile(late, 0.95):6.2f} s 95th percentile")
    print(f"peak memory                {peak:6.0f} MB")
    print(f"baseline loop              {baseline():6.2f} s   (how fast the machine was)")


if __name__ == "__main__":
    main()
