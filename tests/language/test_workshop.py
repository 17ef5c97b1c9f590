"""The workshop sentences: nearly all understood exactly, and none wrong without a question."""

from __future__ import annotations

import pytest
from workshop_table import Row, rows, sentences

from voicelog.grammar import Network


@pytest.fixture(scope="module")
def table(network: Network) -> list[Row]:
    return rows(network)


def test_there_are_two_hundred_different_sentences() -> None:
    assert len({sentence["say"] for sentence in sentences()}) == 200


def test_nothing_is_wrong_without_a_question(table: list[Row]) -> None:
    assert [row.sentence["say"] for row in table if row.outcome == "wrong"] == []


def test_nearly_all_is_understood_exactly(table: list[Row]) -> None:
    exact = sum(row.outcome == "exact" for row in table)
    clear = sum(not row.sentence.get("ask") for row in table)
    assert exact / clear >= 0.93


def test_what_says_two_things_is_asked_about(table: list[Row]) -> None:
    assert all(row.outcome == "asked" for row in table if row.sentence.get("ask"))


def test_a_sentence_takes_a_few_milliseconds(table: list[Row]) -> None:
    times = sorted(row.seconds for row in table)
    assert times[len(times) // 2] < 0.02
