"""What is worked out once for each job and kept until the job changes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Generic, TypeVar

from voicelog.jobs.records import Job

T = TypeVar("T")


class JobCache(Generic[T]):
    """Results of `make` by job.

    An undo folds a job afresh, which makes a new record: that is noticed here.  A commit
    changes the record in place: whoever commits calls `forget`.
    """

    def __init__(self, make: Callable[[Job], T]) -> None:
        self._make = make
        self._known: dict[str, tuple[Job, T]] = {}

    def of(self, job: Job) -> T:
        """The result for a job."""
        found = self._known.get(job.id)
        if found is None or found[0] is not job:
            found = self._known[job.id] = (job, self._make(job))
        return found[1]

    def forget(self, jobs: Iterable[str | None]) -> None:
        """Forget the results for these jobs."""
        for job in jobs:
            self._known.pop(str(job), None)
