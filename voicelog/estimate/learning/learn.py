"""Learning from finished jobs: by which factors actual minutes differ from estimated ones.

The logarithm of actual over estimated minutes is a sum of effects: one for all work, and
one for each size band, material, shape and so on that differs from the most common one
of its kind, whose factor is 1 by definition.  See `fitting` for the model and its
shrinkage.  Nothing is applied: a proposal is shown, and written beside the old card.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from voicelog.estimate.card.model import Card
from voicelog.estimate.learning.mixed_model import fit
from voicelog.estimate.learning.observations import Observation, observations
from voicelog.jobs.records import Job

ALL = ("all", "all work")
"""The effect of all work."""

PRIOR_ALL = 0.5
"""Standard deviation of the logarithm of the factor of all work before any job is seen."""
PRIOR_LEVEL = 0.3
"""The same for a level against the most common one; about a quarter less to a third more."""

CONFIDENCE = 0.90
_DEVIATIONS = 1.6449
"""Half width of the middle 90 % of a normal distribution, in standard deviations."""

LATEST_JOBS = 300
"""How many finished jobs are looked at, the latest: habits and tools change."""


@dataclass(frozen=True)
class Factor:
    """Actual minutes over estimated minutes for one level."""

    slot: str
    level: str
    factor: float
    low: float
    high: float
    """The middle 90 % of what the factor may be."""
    jobs: int
    """Finished jobs with this level in their timed work."""
    pieces: int
    """Timed dents, or jobs timed as a whole, with this level."""

    @property
    def clear(self) -> bool:
        """Whether 1, no difference, is outside what it may be."""
        return not self.low <= 1.0 <= self.high

    def text(self) -> str:
        """For people: "shape crease: × 1.21 (1.05 to 1.40), 7 jobs"."""
        name = self.level if self.slot == ALL[0] else f"{self.slot} {self.level}"
        range_ = f"{self.low:.2f} to {self.high:.2f}"
        return f"{name}: × {self.factor:.2f} ({range_}), {self.jobs} job{'s' if self.jobs != 1 else ''}"


@dataclass(frozen=True)
class Proposal:
    """What was learned, for people to judge."""

    card: str
    """Hash of the card the estimates were made with."""
    jobs: int
    pieces: int
    estimated_minutes: float
    actual_minutes: float
    factors: tuple[Factor, ...]
    """The factor of all work first, then by slot; most common levels, which are 1, are left out."""
    common: tuple[tuple[str, str], ...]
    """(slot, level) of the most common levels that the others are measured against."""
    job_spread: float
    dent_spread: float
    """Standard deviations of the logarithm from job to job and from dent to dent: 0.2 is about 20 %."""

    def lines(self) -> list[str]:
        """As `voicelog learn` prints it."""
        if not self.jobs:
            return ["nothing to learn from: no finished job with timed work and settled values"]
        return [
            f"{self.jobs} jobs, {self.pieces} pieces of timed work: "
            f"{self.actual_minutes:.0f} min worked, {self.estimated_minutes:.0f} min estimated",
            *(factor.text() + ("" if factor.clear else ", may be nothing") for factor in self.factors),
            f"against {', '.join(f'{slot} {level}' for slot, level in self.common)}",
            f"spread from job to job {self.job_spread:.0%}, from dent to dent {self.dent_spread:.0%}",
        ]


def learn(jobs: Iterable[Job], card: Card) -> Proposal:
    """Fit factors to the finished jobs among `jobs`, estimated by `card`."""
    finished = sorted((job for job in jobs if job.finished_at), key=lambda job: str(job.finished_at))
    return learn_from(observations(finished[-LATEST_JOBS:], card), card.hash)


def learn_from(found: Sequence[Observation], card: str = "") -> Proposal:
    """Fit factors to pieces of timed work."""
    if not found:
        return Proposal(card, 0, 0, 0.0, 0.0, (), (), 0.0, 0.0)
    common = _most_common(found)
    levels = sorted({level for one in found for level in one.levels} - set(common))
    x = np.array([[1.0, *(one.levels.get(level, 0.0) for level in levels)] for one in found])
    y = np.array([math.log(one.actual / one.estimated) for one in found])
    names = {name: number for number, name in enumerate(dict.fromkeys(one.job for one in found))}
    job = np.array([names[one.job] for one in found], dtype=np.int64)
    result = fit(x, y, job, np.array([PRIOR_ALL, *(PRIOR_LEVEL for _ in levels)]))
    factors = [
        _factor(level, float(effect), float(error), found)
        for level, effect, error in zip((ALL, *levels), result.effects, result.errors, strict=True)
    ]
    return Proposal(
        card=card,
        jobs=len(names),
        pieces=len(found),
        estimated_minutes=sum(one.estimated for one in found),
        actual_minutes=sum(one.actual for one in found),
        factors=tuple(factors),
        common=common,
        job_spread=result.between,
        dent_spread=result.within,
    )


def _most_common(found: Sequence[Observation]) -> tuple[tuple[str, str], ...]:
    """The most common level of each slot; of `features` a dent may have several or none, so none is."""
    weights: Counter[tuple[str, str]] = Counter()
    for one in found:
        for level, share in one.levels.items():
            weights[level] += share  # type: ignore[assignment]
    slots = sorted({slot for slot, _ in weights} - {"features"})
    return tuple(
        max((level for level in sorted(weights) if level[0] == slot), key=weights.__getitem__)
        for slot in slots
    )


def _factor(level: tuple[str, str], effect: float, error: float, found: Sequence[Observation]) -> Factor:
    having = [one for one in found if level == ALL or level in one.levels]
    half = _DEVIATIONS * error
    return Factor(
        slot=level[0],
        level=level[1],
        factor=math.exp(effect),
        low=math.exp(effect - half),
        high=math.exp(effect + half),
        jobs=len({one.job for one in having}),
        pieces=len(having),
    )
