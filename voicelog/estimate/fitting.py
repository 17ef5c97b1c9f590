"""A small mixed linear model: common effects, an effect for each job, and noise.

    y = X b + u[job] + e,  b[k] ~ N(0, prior[k]²),  u ~ N(0, between²),  e ~ N(0, within²)

The normal priors on `b` are the shrinkage: an effect with little behind it stays near
nought (ridge regression in its Bayesian form).  The two spreads are found by
expectation-maximisation with a weak inverse-gamma prior, as for any variance component
model (see Searle, Casella and McCulloch, "Variance Components"; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ROUNDS = 200
PRIOR_SPREAD = 0.25
"""Where the spreads start, in logarithms: a quarter, as between 0.78 and 1.28 times."""
PRIOR_WEIGHT = 2.0
"""How many observations that first guess is worth."""


@dataclass(frozen=True)
class Fit:
    """What the data say about the common effects."""

    effects: Floats
    """Posterior mean of `b`."""
    errors: Floats
    """Posterior standard deviation of `b`."""
    between: float
    """Standard deviation from job to job."""
    within: float
    """Standard deviation from dent to dent within a job."""


def fit(x: Floats, y: Floats, job: NDArray[np.int64], prior: Floats) -> Fit:
    """Fit the model.

    Args:
        x: (observations, effects), dimensionless.
        y: (observations,), logarithms of actual over estimated minutes.
        job: (observations,), numbers from 0, each job at least once.
        prior: (effects,), standard deviations above nought.
    """
    jobs = int(job.max()) + 1
    design = np.hstack([x, np.eye(jobs)[job]])
    square, right = design.T @ design, design.T @ y
    effects = x.shape[1]
    within = between = PRIOR_SPREAD**2
    guess = PRIOR_WEIGHT * PRIOR_SPREAD**2
    for _ in range(ROUNDS):
        precision = square / within + np.diag(np.concatenate([prior**-2.0, np.full(jobs, 1 / between)]))
        spread = np.linalg.inv(precision)
        mean = spread @ right / within
        left_over = float(np.sum((y - design @ mean) ** 2) + np.sum(square * spread))
        of_jobs = float(np.sum(mean[effects:] ** 2) + np.trace(spread[effects:, effects:]))
        before = (within, between)
        within = (left_over + guess) / (len(y) + PRIOR_WEIGHT)
        between = (of_jobs + guess) / (jobs + PRIOR_WEIGHT)
        if np.allclose(before, (within, between), rtol=1e-6):
            break
    errors = np.sqrt(np.diag(spread)[:effects])
    return Fit(mean[:effects], errors, float(np.sqrt(between)), float(np.sqrt(within)))
