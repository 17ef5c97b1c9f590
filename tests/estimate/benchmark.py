"""How long a price takes: `python -m tests.estimate.benchmark` from the top of the repository."""

from __future__ import annotations

import time
from collections.abc import Callable
from itertools import product

from tests.estimate.making import dent, job
from voicelog.estimate.card import Card, default_card, read_card
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Job
from voicelog.vocabulary import PANELS

PLACES = [
    {"panel": panel.name, **({"end": end} if end else {}), **({"side": side} if side else {})}
    for panel in PANELS.values()
    for end, side in product(panel.ends or (None,), ("left", "right") if panel.sides else (None,))
]


def one() -> Job:
    """One dent."""
    return job(dent(1, "roof", 45, shape="crease"))


def panels(notes: int) -> Job:
    """Dents on every panel of the car in turn."""
    return job(*(dent(n, length_mm=10 + n % 90, **PLACES[n % len(PLACES)]) for n in range(1, notes + 1)))


def counts(notes: int, dents: int) -> Job:
    """A hailed car: notes with a count each."""
    return job(
        *(dent(n, length_mm=10 + n % 30, count=dents, **PLACES[n % len(PLACES)]) for n in range(1, notes + 1))
    )


def doubts(notes: int) -> Job:
    """Dents of which each has a length, a material and a side in doubt."""
    return job(*(
        dent(n, "wing", [15 + n, 50], material=["steel", "aluminium"], side=["left", "right"])
        for n in range(1, notes + 1)
    ))  # fmt: skip


CASES: dict[str, Callable[[], Job]] = {
    "1 dent": one,
    "100 panels, a dent each": lambda: panels(100),
    "5,000 dents in 1 note": lambda: counts(1, 5000),
    "5,000 dents in 50 notes": lambda: counts(50, 100),
    "5,000 dents in 5,000 notes": lambda: panels(5000),
    "6 dents, 3 doubts each": lambda: doubts(6),
    "10 dents, 3 doubts each": lambda: doubts(10),
    "30 dents, 3 doubts each": lambda: doubts(30),
}


def milliseconds(made: Job, card: Card, runs: int = 5) -> float:
    """The best of some runs, in the processor's time."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        price_job(made, card)
        times.append(time.process_time() - start)
    return min(times) * 1000


if __name__ == "__main__":
    print(f"{'':<30}{'first':>13}{'again':>13}")
    for name, make in CASES.items():
        made = make()
        first = milliseconds(made, read_card(default_card().text), runs=1)
        print(f"{name:<30}{first:>10.2f} ms{milliseconds(made, default_card()):>10.2f} ms")
    one_more = panels(5000)
    card = read_card(default_card().text)
    price_job(one_more, card)
    one_more.dents[5001] = dent(5001, "roof", 33)
    one_more.order.append(5001)
    print(f"{'one more note to 5,000':<30}{milliseconds(one_more, card, runs=1):>10.2f} ms")
