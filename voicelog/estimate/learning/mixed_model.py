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
    sums = _Sums.of(x, y, job)
    within = between = PRIOR_SPREAD**2
    guess = PRIOR_WEIGHT * PRIOR_SPREAD**2
    for _ in range(ROUNDS):
        effects, spread, of_noise, of_jobs = _given(sums, within, between, prior)
        before = (within, between)
        within = (of_noise + guess) / (len(y) + PRIOR_WEIGHT)
        between = (of_jobs + guess) / (len(sums.counts) + PRIOR_WEIGHT)
        if np.allclose(before, (within, between), rtol=1e-6):
            break
    return Fit(effects, np.sqrt(np.diag(spread)), float(np.sqrt(between)), float(np.sqrt(within)))


@dataclass(frozen=True)
class _Sums:
    """All that the fit needs of the observations."""

    square: Floats
    """X'X."""
    right: Floats
    """X'y."""
    length: float
    """y'y."""
    counts: Floats
    """Observations of each job."""
    x: Floats
    """Sum of x over each job."""
    y: Floats
    """Sum of y over each job."""

    @classmethod
    def of(cls, x: Floats, y: Floats, job: NDArray[np.int64]) -> _Sums:
        by_job = np.zeros((int(job.max()) + 1, x.shape[1]))
        np.add.at(by_job, job, x)
        counts = np.bincount(job).astype(np.float64)
        sums = np.bincount(job, weights=y).astype(np.float64)
        return cls(x.T @ x, x.T @ y, float(y @ y), counts, by_job, sums)


def _given(sums: _Sums, within: float, between: float, prior: Floats) -> tuple[Floats, Floats, float, float]:
    """With the spreads given: mean and covariance of `b`, and the expected sums of e² and u².

    The effects of the jobs are integrated out one by one (they meet only in `b`), so a round
    costs a matrix of the size of `b` whatever the number of jobs.
    """
    # Variance of a job's effect once b is known, and how far it follows the job's residuals.
    known = 1 / (sums.counts / within + 1 / between)
    follow = known / within
    precision = (sums.square - (sums.x.T * follow) @ sums.x) / within + np.diag(prior**-2.0)
    spread = np.asarray(np.linalg.inv(precision), dtype=np.float64)
    effects = spread @ ((sums.right - sums.x.T @ (follow * sums.y)) / within)
    jobs = follow * (sums.y - sums.x @ effects)
    along = np.einsum("jk,kl,jl->j", sums.x, spread, sums.x)
    variances = known + follow**2 * along
    squares = (
        sums.length
        - 2 * (effects @ sums.right + jobs @ sums.y)
        + effects @ sums.square @ effects
        + 2 * (sums.x @ effects) @ jobs
        + sums.counts @ jobs**2
    )
    doubts = np.sum(sums.square * spread) - 2 * follow @ along + sums.counts @ variances
    return effects, spread, float(squares + doubts), float(np.sum(jobs**2 + variances))
