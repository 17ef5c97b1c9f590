"""Hail-like counts cost no more than any other note."""

from __future__ import annotations

from tests.estimate.benchmark import counts, milliseconds, one


def test_five_thousand_dents_in_a_count_take_the_time_of_one() -> None:
    milliseconds(one())
    assert milliseconds(counts(1, 5000), runs=20) < 10 * milliseconds(one(), runs=20)
