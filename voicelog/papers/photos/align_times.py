"""Two series of times laid against each other, in order: which of one belongs to which of the other."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

Cost = tuple[int, float]
"""(how many of either series stay alone, sum of the distances in seconds)."""


def fit(shots: Sequence[float], marks: Sequence[float], window: timedelta) -> list[tuple[int, int]]:
    """Pairs (shot, mark) by their places in two rising series of seconds.

    Several shots may belong to one mark, each shot to one mark at most, and neither
    series changes its order.  Least alone first, then least distance.  Dynamic
    programming over (shot, mark, whether that mark has a shot): time and room grow with
    the product of the two lengths.
    """
    limit = window.total_seconds()
    after: list[list[Cost]] = [[(0, 0.0)] * 2 for _ in range(len(marks) + 1)]
    steps: list[list[list[str]]] = []
    for shot in range(len(shots), -1, -1):
        here: list[list[Cost]] = [[(0, 0.0), (0, 0.0)] for _ in range(len(marks) + 1)]
        step = [["", ""] for _ in range(len(marks) + 1)]
        for mark in range(len(marks), -1, -1):
            for used in (0, 1):
                options: list[tuple[Cost, str]] = []
                if shot < len(shots) and mark < len(marks):
                    distance = abs(shots[shot] - marks[mark])
                    if distance <= limit:
                        alone, far = after[mark][1]
                        options.append(((alone, far + distance), "pair"))
                if mark < len(marks):
                    alone, far = here[mark + 1][0]
                    options.append(((alone + 1 - used, far), "next mark"))
                if shot < len(shots):
                    alone, far = after[mark][used]
                    options.append(((alone + 1, far), "skip shot"))
                here[mark][used], step[mark][used] = min(options, default=((0, 0.0), ""))
        after = here
        steps.append(step)
    return _walk(steps[::-1])


def _walk(steps: Sequence[Sequence[Sequence[str]]]) -> list[tuple[int, int]]:
    """The pairs along the cheapest way."""
    pairs, shot, mark, used = [], 0, 0, 0
    while step := steps[shot][mark][used]:
        if step == "pair":
            pairs.append((shot, mark))
            shot, used = shot + 1, 1
        elif step == "skip shot":
            shot += 1
        else:
            mark, used = mark + 1, 0
    return pairs
