"""What must hold for every job and every card, against a second price written apart."""

from __future__ import annotations

import random
from decimal import Decimal, localcontext
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimate.drawing import alternatives, cards, job_of, slots
from tests.estimate.plain_price import plain_total
from voicelog.estimate.card import Card, read_card
from voicelog.estimate.card.model import Adder
from voicelog.estimate.estimate import Entry, Working
from voicelog.estimate.explain import explain
from voicelog.estimate.money import EXACT
from voicelog.estimate.pricing.price import price_job

Dents = list[dict[str, list[Any]]]
few = settings(deadline=None, max_examples=150)


def card_of(text: str) -> Card:
    return read_card(text)


@few
@given(cards(), st.lists(slots(), max_size=8), st.integers(0, 20))
def test_a_settled_job_costs_what_the_second_price_says(text: str, dents: Dents, discount: int) -> None:
    estimate = price_job(job_of(dents, discount), card_of(text))
    settled = [{slot: values[0] for slot, values in dent.items()} for dent in dents]
    assert estimate.total.low == estimate.total.high == plain_total(text, settled, discount)
    assert estimate.confirmed


@few
@given(cards(), st.lists(slots(open_slots=2), min_size=1, max_size=4), st.integers(0, 20))
def test_the_range_reaches_from_the_lowest_to_the_highest_alternative(
    text: str, dents: Dents, discount: int
) -> None:
    every = alternatives(dents)
    totals = [plain_total(text, settled, discount) for settled in every]
    estimate = price_job(job_of(dents, discount), card_of(text))
    assert estimate.exact
    assert (estimate.total.low, estimate.total.high) == (min(totals), max(totals))
    assert estimate.confirmed == (len(every) == 1)


@few
@given(cards(), st.lists(slots(open_slots=1, silent=True), min_size=1, max_size=4))
def test_an_unsaid_material_is_that_of_the_panel_or_any_usual_one(text: str, dents: Dents) -> None:
    card = card_of(text)
    totals = [plain_total(text, settled) for settled in alternatives(dents, card.usual_material.of)]
    estimate = price_job(job_of(dents), card)
    assert estimate.total.low <= min(totals) <= max(totals) <= estimate.total.high
    if estimate.exact:
        assert (estimate.total.low, estimate.total.high) == (min(totals), max(totals))
    if estimate.confirmed:
        assert len(set(totals)) == 1


@few
@given(cards(), st.lists(slots(unsaid=True), min_size=1, max_size=3))
def test_a_side_not_said_is_any_side(text: str, dents: Dents) -> None:
    """The lowest is exact; the highest too as long as there are doors enough for all of them."""
    totals = [plain_total(text, settled) for settled in alternatives(dents)]
    total = price_job(job_of(dents), card_of(text)).total
    assert total.low == min(totals)
    assert total.high >= max(totals)
    if len(dents) < 3:
        assert total.high == max(totals)


@few
@given(cards(), st.lists(slots(open_slots=2), max_size=5), st.integers(0, 20))
def test_totals_are_sums_of_their_lines(text: str, dents: Dents, discount: int) -> None:
    estimate = price_job(job_of(dents, discount), card_of(text))
    counting = [line.amount for line in estimate.lines if line.amount is not None and line.counts]
    assert estimate.total.low == sum((amount.low for amount in counting), Decimal(0))
    assert estimate.total.high == sum((amount.high for amount in counting), Decimal(0))
    assert (estimate.net + estimate.tax).low == estimate.total.low
    assert (estimate.net + estimate.tax).high == estimate.total.high
    assert estimate.minutes.low == sum((line.minutes.low for line in estimate.lines), Decimal(0))
    assert 0 <= estimate.total.low <= estimate.total.high


@few
@given(
    cards(), st.lists(slots(open_slots=1, unsaid=True), max_size=6), slots(open_slots=1, unsaid=True),
    st.integers(0, 20),
)  # fmt: skip
def test_one_more_dent_never_lowers_the_total(
    text: str, dents: Dents, more: dict[str, list[Any]], discount: int
) -> None:
    card = card_of(text)
    before, after = (price_job(job_of(some, discount), card) for some in (dents, [*dents, more]))
    assert before.total.low <= after.total.low or not after.exact  # a bound may lie below an exact figure
    assert before.total.high <= after.total.high or not before.exact


@few
@given(cards(), st.lists(slots(open_slots=1), max_size=7), st.randoms(use_true_random=False))
def test_the_order_of_notes_does_not_matter(text: str, dents: Dents, shuffler: random.Random) -> None:
    card = card_of(text)
    mixed = list(dents)
    shuffler.shuffle(mixed)
    assert price_job(job_of(dents), card).total == price_job(job_of(mixed), card).total


@few
@given(cards(), slots(), st.integers(1, 30))
def test_a_count_of_n_is_n_dents(text: str, one: dict[str, list[Any]], count: int) -> None:
    card = card_of(text)
    together = price_job(job_of([{**one, "count": [count]}]), card)
    apart = price_job(job_of([{**one, "count": [1]}] * count), card)
    assert together.total == apart.total
    assert abs(together.minutes.low - apart.minutes.low) <= count * Decimal("0.0001")


@few
@given(cards(), st.lists(slots(open_slots=2), min_size=1, max_size=4))
def test_every_figure_is_explained_by_entries_of_the_card(text: str, dents: Dents) -> None:
    card = card_of(text)
    estimate = price_job(job_of(dents), card)
    texts = "\n".join(explain(estimate))
    for line in estimate.lines:
        assert line.reason or line.entries
        if line.amount is not None:
            assert line.entries
            assert f"{abs(line.amount.low):.{card.digits}f}" in texts
        for working in (line.low, line.high):
            if working is not None:
                _check_formula(working, card)


def _check_formula(working: Working, card: Card) -> None:
    """The percentages and minutes of the working are those of the entries it names."""
    with localcontext(EXACT):
        adders = [_adder(entry, card) for entry in working.adders]
        assert working.percent == sum(adder.percent for adder in adders)
        assert working.extra_minutes == sum(adder.minutes for adder in adders)
        full = working.base_minutes * (1 + working.percent / 100) + working.extra_minutes
        assert working.full_minutes == full


def _adder(entry: Entry, card: Card) -> Adder:
    if entry.table == "width":
        assert card.width is not None
        return card.width
    return card.adders.of(entry.table.removeprefix("adders."))[entry.key]
