"""Estimates of the jobs in sight, each reckoned once until its job changes."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import Any

from voicelog.board.ports import Price
from voicelog.estimate.lines import Estimate
from voicelog.jobs.records import Job


class Prices:
    """Remembers estimates; `forget` after every change of a job."""

    def __init__(self, price: Price | None, lock: AbstractContextManager[Any]) -> None:
        self._price, self._lock = price, lock
        self._known: dict[str, Estimate] = {}

    def of(self, job: Job | None) -> Estimate | None:
        """The estimate of a job; None without a job or a card."""
        if job is None or self._price is None:
            return None
        if job.id not in self._known:
            with self._lock:
                self._known[job.id] = self._price(job)
        return self._known[job.id]

    def afresh(self, job: Job) -> Estimate | None:
        """The estimate of a job that is not in the journal (a trial)."""
        return None if self._price is None else self._price(job)

    def forget(self, jobs: Iterable[str | None] | None = None) -> None:
        """Forget the estimates of these jobs, or of all."""
        if jobs is None:
            self._known.clear()
        else:
            for job in jobs:
                self._known.pop(str(job), None)
