"""The price of a job: its record and a rate card in, an estimate out.

Pure: nothing is read, written or remembered, and the same job and card give the same
estimate.  All arithmetic is in `Decimal`, in a context of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import localcontext
from itertools import chain
from operator import itemgetter

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate, Line, Range
from voicelog.estimate.money import EXACT
from voicelog.estimate.pricing.asked_notes import with_asked_notes
from voicelog.estimate.pricing.by_hand import agreed_line, dent_lines_by_hand, extra_lines, terms_of
from voicelog.estimate.pricing.dent_lines import DentLines, Scenarios
from voicelog.estimate.pricing.dent_options import DentOptions, Options
from voicelog.estimate.pricing.extremes import Extreme, extreme
from voicelog.estimate.pricing.job_lines import (
    cap_advice,
    cap_lines,
    charge_lines,
    discount_advice,
    once_lines,
    part_lines,
    replace_advice,
    tax_line,
    wide_advice,
)
from voicelog.estimate.pricing.possible_values import Choices
from voicelog.estimate.pricing.scenario import SettledPanels, Terms, tally
from voicelog.estimate.pricing.settled import settled_panels
from voicelog.estimate.pricing.unsettled import unsettled_of
from voicelog.jobs.records import Dent, Job


def price_job(job: Job, card: Card) -> Estimate:
    """Price a job: every dent that was not removed, in the order of its list.

    Dents that cannot be priced get a line that says why; open values make the total a range.
    """
    with localcontext(EXACT):
        return with_asked_notes(job, card.of_customer(job.get("customer")), _price)


@dataclass(frozen=True)
class _Priced:
    """A job on its way to an estimate."""

    dents: Sequence[tuple[Dent, DentOptions]]
    options: Options
    terms: tuple[Terms, ...]
    both: Scenarios
    wide: tuple[int, ...]
    settled: SettledPanels


def _price(job: Job, card: Card) -> Estimate:
    priced = _scenarios(job, card)
    settled = priced.settled
    of_dents = _dent_lines(priced, card)
    of_job = tuple(_job_lines(job, priced, card))
    worked = (*chain.from_iterable(of_dents.values()), *of_job)
    open_dents = {n: ((n, job.dents[n].values()), of_dents.get(n, ())) for n in settled.open.order}
    told = list(map({**settled.dents, **open_dents}.__getitem__, settled.listed))
    low, high = priced.both.low, priced.both.high
    unsettled = unsettled_of(priced.dents, priced.options, priced.terms, card, settled.panels)
    missing = any(line.kind == "refusal" and line.cause == "missing" for line in worked)
    total = Range(low.sums.total, high.sums.total)
    if None in job.hand_prices:
        unsettled, missing = (), False  # Whatever is open, the price of the job is agreed.
    return Estimate(
        job=job.id,
        number=job.number,
        title=job.title,
        currency=card.currency,
        card=card.hash,
        damages=tuple(map(itemgetter(0), told)),
        lines=(*chain.from_iterable(map(itemgetter(1), told)), *of_job),
        net=Range(low.sums.net, high.sums.net),
        tax=Range(low.sums.tax, high.sums.tax),
        total=total,
        minutes=Range(
            sum((line.minutes.low for line in worked), settled.minutes),
            sum((line.minutes.high for line in worked), settled.minutes),
        ),
        confirmed=not unsettled and not missing and total.settled,
        unsettled=unsettled,
        tax_name=card.tax.name,
        tax_included=card.tax.included,
        exact=not priced.wide,
    )


def _scenarios(job: Job, card: Card) -> _Priced:
    settled = settled_panels(job, card)
    choices = Choices(settled.open)
    options = Options(choices, card)
    dents = [(dent, options.of(dent)) for dent in choices.dents]
    every = [found for _, found in dents]
    terms = terms_of(settled.open, choices, card)
    low = extreme(every, card, highest=False)
    # The larger the discount the lower the total, whatever the dents are.
    most, least = (pick(terms, key=lambda one: one.discount_percent) for pick in (max, min))
    lowest = tally(low.options, most, card, settled)
    if len(terms) == 1 and all(len(found.options) == 1 for found in every):
        return _Priced(dents, options, terms, Scenarios(lowest, lowest), _wide(low, low), settled)
    high = extreme(every, card, highest=True)
    both = Scenarios(lowest, tally(high.options, least, card, settled))
    return _Priced(dents, options, terms, both, _wide(low, high), settled)


def _wide(low: Extreme, high: Extreme) -> tuple[int, ...]:
    return tuple(sorted(low.wide | high.wide))


def _dent_lines(priced: _Priced, card: Card) -> dict[int, tuple[Line, ...]]:
    """The lines of the dents on which something is open, by number."""
    lines = DentLines(priced.options.choices, priced.both, card)
    return {dent.number: tuple(lines.of(dent, options)) for dent, options in priced.dents}


def _job_lines(job: Job, priced: _Priced, card: Card) -> Iterator[Line]:
    both, choices = priced.both, priced.options.choices
    discounts = [one.discount_percent for one in priced.terms]
    yield from dent_lines_by_hand(priced.settled.open, choices, card)
    caps = list(cap_lines(both, card))
    yield from caps
    yield from once_lines(both, card)
    yield from part_lines(both, card)
    yield from charge_lines(both, discounts, card)
    yield from extra_lines(job, card)
    yield from agreed_line(job, Range(both.low.sums.agreed, both.high.sums.agreed), card)
    yield from tax_line(both, card)
    advice = DentLines(choices, both, card).advice
    for dent, options in priced.dents:
        yield from advice(dent, options)
    yield from cap_advice(caps)
    yield from replace_advice(both, card)
    yield from discount_advice(discounts, card)
    yield from wide_advice(priced.wide)
