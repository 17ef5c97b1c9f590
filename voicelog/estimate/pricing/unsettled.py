"""Which open values there are, and how much of the total hangs on each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Unsettled
from voicelog.estimate.pricing.dent_options import DentOptions, Option, Options, Spot
from voicelog.estimate.pricing.panel_shares import Panel
from voicelog.estimate.pricing.scenario import Terms, panels_of, parts_of, sums
from voicelog.jobs.records import Dent
from voicelog.meaning.note import Value
from voicelog.meaning.place import Place, complete
from voicelog.meaning.region import Region
from voicelog.meaning.wording import place_text


def unsettled_of(
    dents: Sequence[tuple[Dent, DentOptions]],
    options: Options,
    terms: Sequence[Terms],
    card: Card,
    settled: Mapping[Spot, Panel],
) -> tuple[Unsettled, ...]:
    """Every value in doubt, with the difference it makes while all others stay as said."""
    choices = options.choices
    references = choices.open_references()
    job = AsSaid([options.said(dent, {}) for dent, _ in dents], terms[0], card, settled)
    found = [
        item for dent, dent_options in dents for item in _of_dent(dent, dent_options, options, job)
    ]  # fmt: skip
    found += _of_materials(options, job)
    for reading, values in references.items():
        totals = []
        for value in values:
            changed = choices.with_reference(reading, value)
            again = Options(changed, card)
            totals.append(AsSaid([again.said(dent, {}) for dent, _ in dents], terms[0], card).total())
        found.append(Unsettled(None, "reference_um", tuple(values), max(totals) - min(totals), card.units))
    if len(terms) > 1:
        totals = [job.total(terms=one) for one in terms]
        percents = tuple(one.discount_percent for one in terms)
        found.append(Unsettled(None, "discount_percent", percents, max(totals) - min(totals)))
    return tuple(found)


def _of_materials(options: Options, job: AsSaid) -> Iterable[Unsettled]:
    """Panels of which nobody said the material, where something hangs on it; told by their first dent."""
    for _, dents, values in options.materials.unsaid():
        totals = [job.total([options.said(dent, {"material": value}) for dent in dents]) for value in values]
        if max(totals) > min(totals):
            yield Unsettled(dents[0].number, "material", values, max(totals) - min(totals))


def _of_dent(dent: Dent, found: DentOptions, options: Options, job: AsSaid) -> Iterable[Unsettled]:
    for slot, values in found.open_slots.items():
        difference = job.difference(dent, options, slot, values)
        yield Unsettled(dent.number, slot, values, difference, options.card.units)
    spots = options.choices.spots(dent)
    if len(spots) > 1 and not complete(dent.place):
        difference = job.difference(dent, options, "spot", spots)
        if difference:
            yield Unsettled(dent.number, "place", tuple(_names(spots, options.card.words)), difference)


def _names(spots: Iterable[tuple[Place, bool]], region: Region) -> Iterable[Value]:
    return (f"{'another ' if alone else ''}{place_text(place, region)}" for place, alone in spots)


class AsSaid:
    """The job by the values in force, ready to change some of its dents at a time."""

    def __init__(
        self, said: Sequence[Option], terms: Terms, card: Card, settled: Mapping[Spot, Panel] | None = None
    ) -> None:
        self._card = card
        self._terms = terms
        self._said = {option.dent: option for option in said}
        panels = {**(settled or {}), **panels_of(said, card)}
        self._panels = {spot: panel.total for spot, panel in panels.items()}
        self._priced = bool(settled)
        self._on: dict[Any, dict[int, Option]] = {}
        for option in said:
            if option.effort is not None:
                self._on.setdefault(option.spot, {})[option.dent] = option

    def total(self, changed: Sequence[Option] = (), terms: Terms | None = None) -> Decimal:
        """The total, with some dents' options changed or on other terms."""
        panels: Mapping[Any, Decimal] = {**self._panels, **self._again(changed)}
        options = {**self._said, **{option.dent: option for option in changed}}
        parts = parts_of(options.values(), self._card)
        work = sum(panels.values(), ZERO) + sum((part.amount for part in parts.values()), ZERO)
        priced = self._priced or any(option.effort is not None for option in options.values())
        return sums(work, priced, terms or self._terms, self._card).total

    def _again(self, changed: Sequence[Option]) -> dict[Any, Decimal]:
        """The amounts of the panels that a change touches."""
        numbers = {option.dent for option in changed}
        amounts: dict[Any, Decimal] = {}
        for spot in {spot for after in changed for spot in (self._said[after.dent].spot, after.spot)}:
            there = [option for n, option in self._on.get(spot, {}).items() if n not in numbers]
            there += [option for option in changed if option.spot == spot]
            panel = panels_of(there, self._card).get(spot)
            amounts[spot] = ZERO if panel is None else panel.total
        return amounts

    def difference(self, dent: Dent, options: Options, slot: str, values: Sequence[Any]) -> Decimal:
        """Between the lowest and the highest total over the values of one slot."""
        totals = [self.total([options.said(dent, {slot: value})]) for value in values]
        return max(totals, default=ZERO) - min(totals, default=ZERO)
