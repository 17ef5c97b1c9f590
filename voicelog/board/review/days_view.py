"""Hours and takings by day, and estimated against actual minutes of finished jobs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from decimal import Decimal

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from voicelog.board.widgets.bars import Bar, chart
from voicelog.board.words import Wording
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.records import Job
from voicelog.meaning.wording import span


def hours(jobs: Sequence[Job]) -> list[Bar]:
    """Time worked by the day on which the job was opened."""
    days: dict[str, float] = defaultdict(float)
    for job in jobs:
        days[job.opened_at[:10]] += job.timer.worked_s
    return [Bar(day, seconds, span(seconds, "screen")) for day, seconds in sorted(days.items())]


def takings(jobs: Sequence[Job], estimate: Callable[[Job], Estimate | None], wording: Wording) -> list[Bar]:
    """Lowest totals of finished jobs by the day on which they were finished."""
    days: dict[str, Decimal] = defaultdict(Decimal)
    currency = ""
    for job in jobs:
        found = estimate(job) if job.finished_at else None
        if found is not None and job.finished_at:
            days[job.finished_at[:10]] += found.total.low
            currency = found.currency
    return [Bar(day, float(sum_), wording.money(sum_, currency)) for day, sum_ in sorted(days.items())]


def minutes(jobs: Sequence[Job], estimate: Callable[[Job], Estimate | None]) -> list[Bar]:
    """Two bars for each finished job: estimated and actual minutes."""
    bars = []
    for job in jobs:
        found = estimate(job) if job.finished_at else None
        if found is None:
            continue
        worked = job.timer.worked_s / 60
        bars.append(Bar(f"{job.title} estimated", float(found.minutes.low), f"{found.minutes.low:.0f} min"))
        bars.append(Bar(f"{job.title} actual", worked, f"{worked:.0f} min"))
    return bars


class DaysView(VerticalScroll):
    """Three charts, one below the other."""

    def compose(self) -> ComposeResult:
        """One text for all of them."""
        yield Static(id="charts", markup=False)

    def follow(
        self, jobs: Sequence[Job], estimate: Callable[[Job], Estimate | None], wording: Wording
    ) -> None:
        """Draw them again."""
        width = max(40, self.size.width - 2)
        charts = (
            chart("HOURS WORKED, by the day a job was opened", hours(jobs), width),
            chart("TAKINGS, finished jobs at their lowest total", takings(jobs, estimate, wording), width),
            chart("MINUTES, estimated and actual, finished jobs", minutes(jobs, estimate), width),
        )
        self.query_one("#charts", Static).update("\n\n".join(charts))
