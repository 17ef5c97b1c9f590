"""The twenty spoken mini-jobs against what their data file expects."""

from __future__ import annotations

from typing import Any

import pytest

from tests.jobs.mini_jobs import jobs, run, table
from voicelog.jobs.cautions import cautions
from voicelog.jobs.checklist import items
from voicelog.jobs.consistency import rules

EXPECTED = ("cautions", "questions", "missing", "paint", "settled")


@pytest.mark.parametrize("item", jobs(), ids=[item["name"] for item in jobs()])
def test_a_mini_job_produces_what_is_expected(item: dict[str, Any]) -> None:
    assert run(item["say"]).to_json() == {name: item[name] for name in EXPECTED}


def test_the_table_has_a_row_for_each_of_twenty_jobs() -> None:
    rows = list(table())[2:]
    assert len(rows) == 20
    assert all(row.count("|") == rows[0].count("|") for row in rows)


def test_the_jobs_bring_up_every_caution() -> None:
    given = {name.partition(":")[0] for item in jobs() for name in item["cautions"]}
    assert given == {caution.id for caution in cautions()}


def test_the_jobs_show_both_a_full_and_an_empty_list_of_what_is_missing() -> None:
    missing = {name.partition(":")[0] for item in jobs() for name in item["missing"]}
    assert missing >= {"side", "material", "access", "paint", "reference", "told", "questions", "lines"}
    assert missing <= {item.id for item in items()}
    assert any(not item["missing"] for item in jobs())


def test_contradictions_of_the_jobs_leave_the_price_unsettled_until_answered() -> None:
    known = {item["name"]: item["settled"] for item in jobs()}
    assert not known["magnetic base on aluminium, left open"]
    assert known["magnetic base on aluminium, confirmed"]
    assert known["magnetic base on aluminium, corrected"]
    assert len(rules()) > 5
