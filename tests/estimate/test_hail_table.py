"""The card's table of hail: what it must hold, and the range of a counted square; invented figures."""

from __future__ import annotations

from decimal import Decimal
from math import exp

import pytest

from tests.estimate.making import dent, job, reading
from voicelog.errors import VoicelogError
from voicelog.estimate.card import default_card, read_card
from voicelog.estimate.card.hail import Hail
from voicelog.estimate.explain import explain
from voicelog.estimate.pricing.price import price_job

HEAD = 'currency = "GBP"\nhourly_rate = 60\n[base]\npoints = [[10, 12], [250, 240]]\n'
TABLE = HEAD + "[hail]\nsizes_mm = [10, 20]\nrows = [[10, 40, 60], [50, 100, 150]]\n"


def total(card: str, *notes: tuple[int, int], **slots: object) -> Decimal:
    dents = [dent(n, "roof", mm, count=count, hail=True, **slots) for n, (count, mm) in enumerate(notes, 1)]
    return price_job(job(*dents), read_card(card)).total.low


def test_by_hand() -> None:
    """At a pound a minute: a row for all, and what the larger ones have more in their own row."""
    assert total(TABLE, (5, 10)) == 40
    assert total(TABLE, (40, 10)) == 100
    assert total(TABLE, (40, 10), (6, 20)) == 100 + (60 - 40)
    assert total(TABLE, (40, 10), (12, 20)) == 150  # 52 in the last row, 12 of them 50 minutes more
    assert total(TABLE, (400, 10)) == 100  # the last row is the most for one panel


def test_density_and_surcharges_are_percent_of_the_table() -> None:
    card = TABLE + "[hail.density_percent]\nheavy = 10\n[adders.material]\naluminium = { percent = 25 }\n"
    assert total(card, (40, 10), material="aluminium") == 125
    assert total(card, (40, 10), material="aluminium", density="heavy") == 135
    deep = TABLE + "[adders.depth]\ndeep = { percent = 50 }\n"
    some = [dent(1, "roof", 10, count=40, hail=True), dent(2, "roof", 10, count=5, hail=True, depth="deep")]
    # 45 dents 100 minutes, and half of what five alone take on top
    assert price_job(job(*some), read_card(deep)).total.low == 120


def test_oversize_dents_stand_apart_and_have_the_size_of_the_card() -> None:
    card = read_card(TABLE + "oversize_mm = 10\n")
    over = dent(2, "roof", None, count=3, oversize=True)
    assert price_job(job(dent(1, "roof", 10, count=40, hail=True), over), card).total.low == 100 + 3 * 12
    longer = dent(1, "roof", 250, hail=True, count=1)
    assert price_job(job(longer), card).total.low == 240


def test_a_reading_of_one_count_holds_for_the_panel() -> None:
    card = read_card(TABLE + "[paint]\nthick_above_um = 200\nthick_percent = 10\n")
    dents = [dent(1, "roof", 10, count=40, hail=True), dent(2, "roof", 10, count=4, hail=True)]
    dents[0].readings.append(reading("dent", 230))
    assert price_job(job(*dents), card).total.low == 110


def test_what_made_a_figure_is_told() -> None:
    estimate = price_job(job(dent(1, "roof", 10, count=40, hail=True)), read_card(TABLE))
    assert "[hail] rows = [50, 100, 150]: 40 dents so far on the panel" in "\n".join(explain(estimate))


@pytest.mark.parametrize(
    "rows",
    ["[[10, 40]]", "[[10, 60, 40]]", "[[10, 40, 60], [10, 50, 70]]", "[[10, 40, 80], [50, 100, 110]]"],
)
def test_a_table_that_could_lower_a_price_is_refused(rows: str) -> None:
    with pytest.raises(VoicelogError, match="hail"):
        read_card(HEAD + f"[hail]\nsizes_mm = [10, 20]\nrows = {rows}\n")


def test_the_starting_cards_have_a_table_that_says_it_is_invented() -> None:
    card = default_card("GB")
    assert card.hail.in_brackets
    assert "invented" in card.text[card.text.index("# Hail") : card.text.index("[hail.density_percent]")]


@pytest.mark.parametrize("count", [1, 2, 5, 12, 30, 80])
def test_a_counted_square_holds_the_exact_interval_of_a_poisson_count(count: int) -> None:
    """Garwood (1936), the exact 95 % interval: its limits leave a tail of 2.5 % in the sum below."""
    low, high = Hail().counts_of_square(count, Decimal(1000), Decimal(1000))  # a thousand squares
    assert at_most(count, high / 1000) <= 0.025
    assert 1 - at_most(count - 1, low / 1000) <= 0.025


def at_most(count: int, mean: float) -> float:
    """The chance of at most so many where so many are to be expected."""
    term = found = exp(-mean)
    for number in range(1, count + 1):
        term *= mean / number
        found += term
    return found
