"""What open questions about whole notes may do to a total: every reading is in the range until settled."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Estimate, Line, Range, Unsettled
from voicelog.jobs.changes import tried
from voicelog.jobs.records import Dent, Job, Question
from voicelog.journal import events as ev
from voicelog.meaning.wording import read_back
from voicelog.vocabulary import LISTS

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
        for went in (bodies, *_elsewhere(job, question, bodies)):
            changed = tried(job, went)
            yield changed, price(changed, card)


def _elsewhere(job: Job, question: Question, bodies: Sequence[ev.Body]) -> Iterator[Sequence[ev.Body]]:
    """Where the note may go besides, as the record has changed since it was asked.

    What would have opened a dent may go on with the one that is open now, where nothing in it
    differs; what would have gone on with a dent that has another place now opens the next.
    """
    noted = [body for body in bodies if isinstance(body, ev.Noted)]
    opened = [body for body in bodies if isinstance(body, ev.DentOpened)]
    dent = job.dents.get(question.dent or job.open_dent or 0)
    if dent is None or len(noted) != 1 or len(opened) > 1:
        return
    if opened and question.dent is None and not _differs(dent, noted[0], noted[0].slots):
        yield [replace(body, dent=dent.number) for body in noted]
    elif not opened and _differs(dent, noted[0], ("panel", "end", "side")):
        number = max(job.dents) + 1
        yield [ev.DentOpened(number), *(replace(body, dent=number) for body in noted)]


def _differs(dent: Dent, noted: ev.Noted, names: Iterable[str]) -> bool:
    both = [name for name in names if name in noted.slots and name in dent.fields and name not in LISTS]
    return any(
        not {noted.slots[name].value, *noted.slots[name].alternatives} & set(dent.fields[name].choices)
        for name in both
    )


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
