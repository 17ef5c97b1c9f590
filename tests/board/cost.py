"""What the board costs the recogniser: the same recording heard with and without it.

    python -m tests.board.cost [rounds]

Both runs decode as fast as they can, with partials, so that any time the screen takes
from the decoder shows; at real speed most of a second is idle.
"""

from __future__ import annotations

import asyncio
import sys
import threading
import time

from voicelog.board.app import BoardApp
from voicelog.board.ports import BoardSettings
from voicelog.cli.demo import load_day
from voicelog.cli.wiring import open_dialogue, open_ears
from voicelog.jobs.logbook import Logbook
from voicelog.listening import Recording
from voicelog.session import reports
from voicelog.session.listening_loop import Ear

TARGET = 0.10
UTTERANCES = 6
"""How much of the recording is heard."""


class Run:
    """Hears the first recording of the demo; `took` is its time, seconds."""

    def __init__(self) -> None:
        self.day = load_day()
        self.logbook = Logbook.in_memory()
        dialogue = open_dialogue(self.logbook.beside(), self.day.card, self.day.settings)
        self.ear = Ear(dialogue, open_ears("pocketsphinx", self.day.settings), partials=True)
        self.took = 0.0
        self.done = threading.Event()

    def __call__(self, report: reports.Feed, stop: threading.Event) -> None:
        self.ear.feed = report
        start = time.perf_counter()
        for number, _ in enumerate(self.ear.hear(Recording(self.day.recordings[0]), stop), 1):
            if number == UTTERANCES:
                break
        self.took = time.perf_counter() - start
        self.done.set()


def alone() -> float:
    """Seconds without a board, in a thread of its own all the same."""
    run = Run()
    thread = threading.Thread(target=run, args=(lambda item: None, threading.Event()))
    thread.start()
    thread.join()
    return run.took


async def boarded() -> float:
    """Seconds under a board of 120 × 40."""
    run = Run()
    app = BoardApp(run.logbook, run.day.card, BoardSettings(), run)
    async with app.run_test(size=(120, 40)):
        while not run.done.is_set():
            await asyncio.sleep(0.05)
    return run.took


def main() -> int:
    """Take turns, so that a machine busy with other things is so for both; compare the fastest."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    without, under = [], []
    for _ in range(rounds):
        without.append(alone())
        under.append(asyncio.run(boarded()))
    cost = min(under) / min(without) - 1
    print(f"without {[round(s, 2) for s in without]} s, under the board {[round(s, 2) for s in under]} s")
    print(f"cost {cost:+.1%}, target at most {TARGET:.0%}: {'kept' if cost <= TARGET else 'MISSED'}")
    return 0 if cost <= TARGET else 1


if __name__ == "__main__":
    sys.exit(main())
