"""Takings for each hour worked, by customer, kind of job and month: what learning says about money.

It only looks back.  What a job takes and what it costs are two things: being quick raises
these figures and is no reason to charge less.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final, Literal

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Range
from voicelog.estimate.money import EXACT, money_text, round_money
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import agreed, joined
from voicelog.jobs.records import Job

By = Literal["customer", "kind", "month"]

WAYS: Final[tuple[By, ...]] = ("customer", "kind", "month")

HAIL_FROM = 20
"""Dents of one job from which on its kind is hail; ours, to be changed."""


@dataclass(frozen=True)
class Takings:
    """Finished, timed jobs of one group together."""

    name: str
    jobs: int
    hours: Decimal
    net: Range

    @property
    def per_hour(self) -> Range:
        """Money for an hour worked, before tax."""
        return Range(EXACT.divide(self.net.low, self.hours), EXACT.divide(self.net.high, self.hours))

    def text(self, currency: str) -> str:
        """For people: "Example Motors: 12 jobs, 18.5 h, 71.35 GBP an hour before tax"."""
        low, high = (money_text(round_money(sum_, currency), currency) for sum_ in self._ends)
        hourly = low if low == high else f"{low} to {high}"
        jobs = f"{self.jobs} job{'' if self.jobs == 1 else 's'}"
        return f"{self.name}: {jobs}, {self.hours:.1f} h, {hourly} {currency} an hour before tax"

    @property
    def _ends(self) -> tuple[Decimal, Decimal]:
        return self.per_hour.low, self.per_hour.high

    def to_json(self, currency: str) -> dict[str, Any]:
        """JSON-ready form."""
        hourly = Range(*(round_money(sum_, currency) for sum_ in self._ends))
        return {
            "name": self.name, "jobs": self.jobs, "hours": f"{self.hours:.2f}",
            "net": self.net.to_json(currency), "per_hour": hourly.to_json(currency),
        }  # fmt: skip


def takings(jobs: Iterable[Job], nets: Mapping[str, Range], by: By) -> list[Takings]:
    """Group finished jobs whose timer ran.

    Args:
        nets: id of a job -> its sum before tax: invoiced or agreed where it is, else estimated.
    """
    groups: dict[str, list[Job]] = {}
    for job in jobs:
        if job.finished_at and round(job.timer.worked_s) > 0 and job.id in nets:
            groups.setdefault(_group(job, by), []).append(job)
    return [_together(name, found, nets) for name, found in sorted(groups.items())]


def net_of(job: Job, card: Card) -> Range:
    """A job's sum before tax: what was invoiced, else what was agreed, else its estimate."""
    if job.issued:
        return joined([issued.snapshot for issued in job.issued]).net
    return (agreed(job) or price_job(job, card)).net


def _group(job: Job, by: By) -> str:
    if by == "customer":
        return str(job.get("customer") or "not named")
    if by == "month":
        return str(job.finished_at)[:7]
    dents = sum(int(dent.get("count") or 1) for dent in job.listed())
    return "hail" if dents >= HAIL_FROM else "one dent" if dents == 1 else "several dents"


def _together(name: str, jobs: list[Job], nets: Mapping[str, Range]) -> Takings:
    seconds = sum(Decimal(round(job.timer.worked_s)) for job in jobs)
    net = sum((nets[job.id] for job in jobs), Range(ZERO, ZERO))
    return Takings(name, len(jobs), EXACT.divide(Decimal(seconds), Decimal(3600)), net)
