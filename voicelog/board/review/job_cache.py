"""What is worked out once for each job and kept until the job changes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager
from typing import Any, Generic, TypeVar

from voicelog.board.ports import Price
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.records import Job

T = TypeVar("T")


class JobCache(Generic[T]):
    """Results of `make` by job id; whoever changes a job calls `forget`.

    A job whose result is known is not looked at: a long journal keeps few of its jobs in memory, and
    looking at one means folding it again.
    """

    def __init__(self, make: Callable[[Job], T], jobs: Callable[[], Mapping[str, Job]]) -> None:
        self._make, self._jobs = make, jobs
        self._known: dict[str, T] = {}

    def of(self, job: str) -> T:
        """The result for the job of this id."""
        if job not in self._known:
            self._known[job] = self._make(self._jobs()[job])
        return self._known[job]

    def forget(self, jobs: Iterable[str | None] | None) -> None:
        """Forget the results for these jobs; None for every job."""
        if jobs is None:
            self._known.clear()
        else:
            for job in jobs:
                self._known.pop(str(job), None)


class Prices(JobCache["Estimate | None"]):
    """Estimates of the jobs in sight; None without a card."""

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
