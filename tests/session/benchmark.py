"""Measures a session on the demo's recordings: `python -m tests.session.benchmark`.

Prints start-up time, real-time factor, the time from the end of the silence window to the committed
event if the sound came in real time, and peak memory.  A plain loop of arithmetic,
timed in the same run, tells how fast the machine was meanwhile.
"""

from __future__ import annotations

import resource
import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.speech.benchmark import in_time
from voicelog.cli.demo import load_day
from voicelog.cli.wiring import open_dialogue, open_ears
from voicelog.jobs.logbook import Logbook
from voicelog.journal.clips import Clips
from voicelog.listening import RATE, Recording, segments_of
from voicelog.session.listening_loop import Ear


def baseline() -> float:
    """Seconds for a fixed piece of work."""
    began = time.perf_counter()
    total = 0
    for number in range(3_000_000):
        total += number & 7
    assert total > 0
    return time.perf_counter() - began


def main() -> None:
    """Measure and print."""
    few = "--few" in sys.argv
    began = time.perf_counter()
    day = load_day()
    with tempfile.TemporaryDirectory() as folder:
        log = Path(folder) / "journal.db"
        with Logbook.open(log) as logbook:
            dialogue = open_dialogue(logbook, day.card, day.settings)
            engine = open_ears("pocketsphinx", day.settings)
            ready = time.perf_counter() - began
            ear = Ear(dialogue, engine, Clips.beside(log))
            latencies: list[float] = []
            decoding = sound = 0.0
            decisions: dict[str, int] = {}
            for path in day.recordings:
                source = Recording(path)
                for number, segment in enumerate(segments_of(source)):
                    if few and number >= 5:
                        break
                    start = time.process_time()
                    hypothesis, late = in_time(engine, segment.samples)
                    decoded = time.process_time()
                    outcome = ear.decide(segment, hypothesis, source)
                    latencies.append(max(0.0, late) + time.process_time() - decoded)
                    decoding += decoded - start
                    sound += len(segment.samples) / RATE
                    decision = outcome.heard.decision
                    decisions[decision] = decisions.get(decision, 0) + 1
    latencies.sort()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"start-up to listening      {ready:6.2f} s")
    print(f"utterances                 {len(latencies):6d}   {decisions}")
    print(f"real-time factor           {decoding / sound:6.3f}   (decoding / length of segments)")
    print(f"end of speech to commit    {statistics.median(latencies):6.2f} s median")
    print(f"                           {latencies[int(len(latencies) * 0.95)]:6.2f} s 95th percentile")
    print(f"peak memory                {peak:6.0f} MB")
    print(f"baseline loop              {baseline():6.2f} s   (how fast the machine was)")


if __name__ == "__main__":
    main()
