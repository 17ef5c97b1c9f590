"""What was probably forgotten to charge, with what hangs on it: for the ear, never on papers.

Each finding is a slot that was not said (or a part that was not named), with the range by which
the total would rise or fall if it were.  Nothing is added to the price by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import localcontext

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Range
from voicelog.estimate.money import EXACT
from voicelog.estimate.pricing.by_hand import terms_of
from voicelog.estimate.pricing.dent_options import Options
from voicelog.estimate.pricing.line_texts import value_text
from voicelog.estimate.pricing.possible_values import Choices
from voicelog.estimate.pricing.unsettled import AsSaid
from voicelog.jobs.records import Dent, Job
from voicelog.meaning.place import normal
from voicelog.meaning.wording import place_text
from voicelog.vocabulary import CHOICES

_PARTS = {
    "door": ("door-card",), "sliding-door": ("door-card",), "tailgate": ("trim",), "boot-lid": ("liner",),
    "bonnet": ("liner",), "roof": ("head-lining",), "roof-rail": ("head-lining",),
    "quarter": ("tail-light", "liner", "trim"), "wing": ("liner", "headlight"),
}  # fmt: skip
"""What commonly comes off to reach behind a panel; common practice, no source."""


@dataclass(frozen=True)
class Owed:
    """One thing that may have been forgotten."""

    dents: tuple[int, ...]
    text: str
    """For people, without the amount: "roof: material not said"."""
    amount: Range
    """What it may change the total by, tax included where it is added."""


def owed(job: Job, card: Card) -> list[Owed]:
    """What may be missing from the price of a job, the dearest first."""
    with localcontext(EXACT):
        options = Options(Choices(job), card)
        terms = terms_of(job, options.choices, card)[0]
        said = AsSaid([options.said(dent, {}) for dent in options.choices.dents], terms, card)
        found = [*_materials(options, said), *_slots(options, said), *_parts(options, said)]
    return sorted((item for item in found if item.amount.high > 0), key=lambda item: -item.amount.high)


def _materials(options: Options, job: AsSaid) -> Iterator[Owed]:
    for place, dents, values in options.materials.unsaid():
        totals = [job.total([options.said(dent, {"material": v}) for dent in dents]) for v in values]
        change = Range(min(totals) - job.total(), max(totals) - job.total())
        text = f"{place_text(place, options.card.words)}: material not said"
        yield Owed(tuple(dent.number for dent in dents), text, change)


def _slots(options: Options, job: AsSaid) -> Iterator[Owed]:
    """Depth not said, where the card charges for it; access not said, where protection goes with it."""
    for dent in options.choices.dents:
        for slot in ("depth", "access"):
            if options.choices.of(dent, slot) != (None,):
                continue
            totals = [job.total([options.said(dent, {slot: value})]) for value in CHOICES[slot]]
            change = Range(ZERO, max(totals) - job.total())
            yield Owed((dent.number,), f"dent {dent.number}: {slot} not said", change)


def _parts(options: Options, job: AsSaid) -> Iterator[Owed]:
    """Access behind trim where no part was named: one of the usual parts, or all of them."""
    for dent in options.choices.dents:
        if not _needs_part(dent, options):
            continue
        usual = _PARTS.get(normal(dent.place)[0] or "", ())
        items = [item for item in usual if item in options.card.take_off]
        if items:
            totals = [job.total([options.said(dent, {"take_off": (item,)})]) for item in items]
            names = " or ".join(value_text("take_off", item, options.card) for item in items)
            change = Range(min(totals) - job.total(), max(totals) - job.total())
            yield Owed((dent.number,), f"dent {dent.number}: trim off, but not what ({names})", change)


def _needs_part(dent: Dent, options: Options) -> bool:
    return dent.get("access") == "trim-off" and options.choices.of(dent, "take_off") == (None,)
