"""What to say next: first what there is no price without, then what moves the price most, then the rest."""

from __future__ import annotations

from typing import Any

import pytest

from voicelog.board.live.say_next import standing_of, to_say
from voicelog.board.words import Wording
from voicelog.jobs.records import Job
from voicelog.journal import events as ev

from .bench_clock import BenchLog
from .day import dent, finished_job, held, invoiced_job, new_job, say
from .drive import CARD


def job_of(log: BenchLog) -> Job:
    job = log.state.job
    assert job is not None
    return job


def job_with(**slots: Any) -> Job:
    """A job whose only dent has these slots."""
    log = BenchLog()
    new_job(log, 1, "XX21ABC")
    dent(log, 1, {name: held(value) for name, value in slots.items()}, "a dent")
    return job_of(log)


def test_no_job_and_no_dent_say_what_to_say_not_a_state() -> None:
    log = BenchLog()
    assert to_say(None, CARD) == ["new job"]
    new_job(log, 1, "XX21ABC")
    assert to_say(job_of(log), CARD) == ["panel and size"]


def test_place_and_size_come_before_all_else() -> None:
    assert to_say(job_with(panel="door", end="front"), CARD)[:2] == ["left or right", "size"]
    assert to_say(job_with(length_mm=40), CARD)[0] == "panel"


def test_what_moves_the_price_most_by_the_card_comes_first() -> None:
    """By the demo's invented card depth spans 50 percent, access 30, material 25."""
    found = to_say(job_with(panel="bonnet", length_mm=40), CARD)
    assert found[:4] == ["depth", "access", "material", "paint reading"]
    assert to_say(job_with(panel="bonnet", length_mm=40, depth="deep"), CARD)[0] == "access"


def test_a_whole_dent_leads_to_the_job_and_then_to_the_next() -> None:
    log = BenchLog()
    new_job(log, 1, "XX21ABC")
    slots = {"panel": "bonnet", "length_mm": 40, "depth": "deep", "access": "open", "material": "steel"}
    dent(log, 1, {name: held(value) for name, value in slots.items()}, "a dent")
    say(log, "paint", ev.Measured("dent", held(120), 1), ev.Measured("reference", held(120)), kind="reading")
    assert to_say(job_of(log), CARD) == ["lines checked from two directions"]
    say(log, "lines", ev.Stepped({"step": held("check-lines"), "direction": held(("along", "across"))}, 1))
    assert to_say(job_of(log), CARD) == ["next dent, or job finished"]


@pytest.mark.parametrize(
    ("paid", "standing"), [(None, "£184.00 to pay"), ("100.00", "£84.00 to pay"), ("184.00", "paid")]
)
def test_finished_invoiced_and_paid_are_said_in_words(paid: str | None, standing: str) -> None:
    job = job_of(finished_job())
    assert standing_of(job, Wording()) == "finished"
    assert to_say(job, CARD) == []
    assert standing_of(job_of(invoiced_job(paid)), Wording()) == standing
