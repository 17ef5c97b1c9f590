"""Estimates of the jobs in sight, each reckoned once until its job changes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from typing import Any

from voicelog.board.ports import Price
from voicelog.board.review.job_cache import JobCache
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.records import Job


class Prices(JobCache["Estimate | None"]):
    """Estimates by job; None without a card."""

    def __init__(
        self, price: Price | None, jobs: Callable[[], Mapping[str, Job]], lock: AbstractContextManager[Any]
    ) -> None:
        super().__init__(self.afresh, jobs)
        self._price, self._lock = price, lock

    def afresh(self, job: Job) -> Estimate | None:
        """The estimate of a job, also of one that is not in the journal (a trial)."""
        if self._price is None:
            return None
        with self._lock:
            return self._price(job)
