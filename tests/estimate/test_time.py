"""Hail-like counts cost no more than any other note."""

from __future__ import annotations

from tests.estimate.benchmark import counts, milliseconds, one
from voicelog.estimate.card import default_card


def test_five_thousand_dents_in_a_count_take_the_time_of_one() -> None:
    card = default_card()
    milliseconds(one(), card)
    assert milliseconds(counts(1, 5000), card, runs=20) < 10 * milliseconds(one(), card, runs=20)
