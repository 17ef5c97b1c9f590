"""What open questions about whole notes may do to a total: every reading is in the range until settled."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Estimate, Line, Range, Unsettled
from voicelog.jobs.changes import tried
from voicelog.jobs.records import Job, Question
from voicelog.journal import events as ev
from voicelog.meaning.wording import read_back

Price = Callable[[Job, Card], Estimate]


def with_asked_notes(job: Job, card: Card, price: Price) -> Estimate:
    """The estimate of a job with what may come of the notes that wait for an answer.

    Each question is taken in turn, the latest first, at its cheapest and at its dearest choice, no choice
    at all being one of them; for one question that is exact.
    """
    estimate = price(job, card)
    asked = [question for question in job.waiting if any(question.would)]
    if not asked:
        return estimate
    (low_job, low), (high_job, high) = (job, estimate), (job, estimate)
    for question in asked:
        low_job, low = min(_each(low_job, low, question, card, price), key=lambda found: found[1].total.low)
        high_job, high = max(
            _each(high_job, high, question, card, price), key=lambda found: found[1].total.high
        )
    return _widened(estimate, low, high, tuple(_unsettled(one, job, estimate, card, price) for one in asked))


def _each(
    job: Job, now: Estimate, question: Question, card: Card, price: Price
) -> Iterable[tuple[Job, Estimate]]:
    yield job, now
    for bodies in question.would:
        changed = tried(job, bodies)
        yield changed, price(changed, card)


def _unsettled(question: Question, job: Job, now: Estimate, card: Card, price: Price) -> Unsettled:
    found = [estimate.total for _, estimate in _each(job, now, question, card, price)]
    spread = max(total.high for total in found) - min(total.low for total in found)
    texts = tuple(_text(bodies, card) for bodies in question.would)
    return Unsettled(question.dent, "note", texts, max(ZERO, spread - (now.total.high - now.total.low)))


def _text(bodies: Iterable[ev.Body], card: Card) -> str:
    """A choice by the values it would note; not in the words that were said, which are the customer's too."""
    said = [read_back(b.slots, card.words) for b in bodies if isinstance(b, ev.Noted | ev.Corrected)]
    return ", ".join(said) or "nothing"


def _widened(estimate: Estimate, low: Estimate, high: Estimate, asked: tuple[Unsettled, ...]) -> Estimate:
    net, tax, total = (
        Range(getattr(low, name).low, getattr(high, name).high) for name in ("net", "tax", "total")
    )
    shown = [line for line in estimate.lines if line.kind == "tax"]
    taxed = Range(ZERO, ZERO) if estimate.tax_included else tax - estimate.tax
    more = Line("asked", "Said and not answered yet", amount=total - estimate.total - taxed)
    lines = [replace(line, amount=tax) if line in shown else line for line in estimate.lines]
    at = lines.index(next((line for line in lines if line.kind == "tax"), None)) if shown else len(lines)  # type: ignore[arg-type]
    return replace(
        estimate,
        lines=(*lines[:at], more, *lines[at:]),
        net=net,
        tax=tax,
        total=total,
        confirmed=False,
        unsettled=(*asked, *estimate.unsettled),
    )
