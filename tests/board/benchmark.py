"""From key to visible change at the review desk, with many utterances loaded.

    python -m tests.board.benchmark [utterances]

A change counts as visible when the screen has painted after the key: the time is
taken from handing the key to the app until the next painted frame.
"""

from __future__ import annotations

import asyncio
import statistics
import sys
import time
from typing import Any

from textual import events

from voicelog.board.app import BoardApp
from voicelog.board.ports import BoardSettings
from voicelog.board.review.screen import ReviewScreen
from voicelog.estimate.card import default_card
from voicelog.journal import events as ev

from .bench_clock import BenchLog
from .day import dent, held, new_job, say

TARGET_MS = 50.0
REPEATS = 40


def loaded(utterances: int) -> BenchLog:
    """A log of one day with jobs of 25 utterances each, a few values in doubt."""
    log = BenchLog()
    job = 0
    while log.state.utterances < utterances:
        job += 1
        new_job(log, job, f"XX{job:02d}ABC"[-8:])
        for number in range(1, 9):
            length = held(50, 15, doubt="sounds alike") if number == 5 and job % 4 == 0 else held(20 + number)
            place = {
                "panel": held("door"),
                "end": held("rear"),
                "side": held("left" if number % 2 else "right"),
            }
            slots = {**place, "material": held("steel"), "length_mm": length, "depth": held("shallow")}
            dent(log, number, slots, "rear left door steel twenty mil shallow")
            say(log, "push open access", ev.Noted(number, {"method": held("push"), "access": held("open")}))
            say(log, "pull three", ev.Stepped({"step": held("pull"), "pulls": held(3)}, number), kind="step")
    return log


class Watched(BoardApp):
    """Notes when it paints."""

    painted = 0.0

    def _display(self, screen: Any, renderable: Any) -> None:
        super()._display(screen, renderable)
        self.painted = time.perf_counter()


async def visible_ms(app: Watched, key: str) -> tuple[float, float]:
    """Milliseconds from a key to the next painted frame: by the clock, and of the processor.

    The second is what the first would be on a machine with nothing else to do, but for waits.
    """
    start, worked = time.perf_counter(), time.process_time()
    app.post_message(events.Key(key, None))
    while app.painted < start:
        if time.perf_counter() - start > 5:
            raise TimeoutError(f"nothing was painted after {key}")
        await asyncio.sleep(0.0005)
    return (app.painted - start) * 1000, (time.process_time() - worked) * 1000


SCENES: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("move in what was said", ("1", "home"), ("down",)),
    ("page through what was said", ("1", "home"), ("pagedown", "pageup")),
    ("move in the dents", ("2", "home"), ("down", "up")),
    ("next value in doubt", (), ("n",)),
    ("another job", (), ("left_square_bracket", "right_square_bracket")),
    ("reorder a dent (commit and price)", ("2", "home"), ("J", "K")),
    ("remove and restore a dent (commit)", ("2", "home"), ("d", "D")),
    ("undo and redo (commit)", ("2",), ("ctrl+z", "ctrl+y")),
)
"""Name, keys that lead there, keys that are measured in turn."""


async def measure(utterances: int) -> bool:
    """Print the figures; True where every median keeps to the target."""
    start = time.perf_counter()
    log = loaded(utterances)
    built = time.perf_counter() - start
    print(f"{log.state.utterances} utterances, {len(log.state.jobs)} jobs (built in {built:.1f} s)")
    app = Watched(log, default_card(), BoardSettings(now=lambda: log.now), review=False)
    good = True
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        start = time.perf_counter()
        await pilot.press("r")
        await pilot.pause()
        assert isinstance(app.screen, ReviewScreen)
        print(f"{'open the review desk':36} {(time.perf_counter() - start) * 1000:6.0f} ms")
        for name, there, keys in SCENES:
            await pilot.press(*there)
            await pilot.pause()
            times = []
            for at in range(REPEATS):
                times.append(await visible_ms(app, keys[at % len(keys)]))
                # The rest of the change is painted before the next key, as it is for a person.
                await pilot.pause()
            clock = [passed for passed, _ in times]
            median, slow = statistics.median(clock), statistics.quantiles(clock, n=20)[-1]
            processor = statistics.median(worked for _, worked in times)
            good = good and median <= TARGET_MS
            print(f"{name:36} median {median:6.1f} ms (processor {processor:5.1f})   95 % {slow:6.1f} ms")
    print(f"target: median at most {TARGET_MS:.0f} ms: {'kept' if good else 'MISSED'}")
    return good


def main() -> int:
    """Measure with the number of utterances given, 5,000 by default."""
    utterances = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    return 0 if asyncio.run(measure(utterances)) else 1


if __name__ == "__main__":
    sys.exit(main())
