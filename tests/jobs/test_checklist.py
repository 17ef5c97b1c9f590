"""What a finished job needs, and what is missing from it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.jobs.making import dent, job, reading, step
from voicelog.jobs.checklist import DENT_CHECKS, JOB_CHECKS, gap_text, gaps, items
from voicelog.jobs.records import Dent, Job, Question
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS

WHOLE = {
    "panel": "door", "end": "rear", "side": "left", "length_mm": 40, "material": "steel", "access": "open",
}  # fmt: skip
LINES = (step("check-lines", direction=("front", "left")),)


def whole(*, without: str = "", number: int = 1) -> Dent:
    """A dent that lacks nothing but the slot named."""
    slots = {name: value for name, value in WHOLE.items() if name != without}
    return dent(number, readings=[120], steps=LINES, **slots)  # type: ignore[arg-type]


def missing(found: Job) -> list[str]:
    return [gap.id for gap in gaps(found)]


def test_the_data_names_slots_and_checks_that_there_are() -> None:
    for item in items():
        assert item.of in ("dent", "job")
        known = {*DENT_CHECKS, *DAMAGE_SLOTS} if item.of == "dent" else set(JOB_CHECKS)
        assert item.needs in known
        for term in item.unless:
            slot, _, values = term.partition("=")
            assert set(values.split("|")) <= set(CHOICES[slot])
    assert {item.needs for item in items()} >= {*DENT_CHECKS, *JOB_CHECKS}


def test_a_whole_job_lacks_nothing() -> None:
    assert missing(job(whole(), references=[118])) == []


@pytest.mark.parametrize(
    ("without", "gap"),
    [
        ("panel", "panel:1"),
        ("side", "side:1"),
        ("end", "end:1"),
        ("length_mm", "size:1"),
        ("material", "material:1"),
        ("access", "access:1"),
    ],
)
def test_a_dent_that_lacks_one_thing(without: str, gap: str) -> None:
    assert missing(job(whole(without=without), references=[118])) == [gap]


def test_paint_is_read_where_a_gauge_reads() -> None:
    """ISO 2178 and ISO 2360: both methods need metal beneath the film."""
    bumper = {"panel": "bumper", "end": "front", "length_mm": 40, "access": "open"}
    for material, gap in (("steel", ["paint:1"]), ("plastic", []), ("composite", [])):
        found = dent(steps=LINES, material=material, **bumper)  # type: ignore[arg-type]
        assert missing(job(found)) == gap


def test_readings_want_a_reference_for_their_panel() -> None:
    assert missing(job(whole())) == ["reference:1"]
    assert missing(job(whole(), references=[reading(118, panel="roof")])) == ["reference:1"]
    assert missing(job(whole(), references=[reading(118, panel="door")])) == []


def test_lines_are_looked_at_from_two_directions() -> None:
    once = dent(readings=[120], steps=[step("check-lines", direction=("front",))], **WHOLE)  # type: ignore[arg-type]
    assert missing(job(once, references=[118])) == ["lines"]
    twice = job(once, references=[118], steps=[step("check-lines", direction=("left",))])
    assert missing(twice) == []
    again = job(
        once, references=[118], steps=[step("check-lines", direction=("front",)), step("check-lines")]
    )
    assert missing(again) == ["lines"]


class TestRisks:
    def test_a_known_risk_that_nobody_told_is_missing(self) -> None:
        risky = whole()
        risky.risks.append("texture")
        found = gaps(job(risky, references=[118], risks=["high-spots"]))
        assert [gap.id for gap in found] == ["told"]
        assert found[0].text == "customer not told: high spots, texture"

    def test_every_risk_has_to_be_told(self) -> None:
        risky = whole()
        risky.risks += ["texture", "high-spots"]
        assert missing(job(risky, references=[118], told=[("texture", "")])) == ["told"]
        both = [("texture", ""), ("high-spots", "")]
        assert missing(job(risky, references=[118], told=both)) == []

    def test_a_removed_dents_risk_need_not_be_told(self) -> None:
        gone = whole(number=2)
        gone.risks.append("texture")
        gone.removed = True
        assert missing(job(whole(), gone, references=[118])) == []


def test_open_questions_are_missing() -> None:
    asked = Question("q", "length_mm", (15, 50), "length?", 1, "", "")
    found = gaps(job(whole(), references=[118], questions={"q": asked}))
    assert [(gap.id, gap.text) for gap in found] == [("questions", "open questions: 1")]


def test_a_job_without_dents_lacks_a_dent_and_nothing_else() -> None:
    assert missing(job()) == ["dents"]


def test_a_stored_gap_is_told_in_words() -> None:
    assert gap_text("size:2") == "dent 2 size"
    assert gap_text("told") == "customer not told"
    assert gap_text("questions") == "open questions"
    assert gap_text("lines") == "lines checked from two directions"
    assert gap_text("customer not told: crease may show") == "customer not told: crease may show"


@settings(deadline=None, max_examples=60)
@given(st.sets(st.sampled_from(sorted(WHOLE))), st.booleans(), st.booleans())
def test_each_gap_has_words_and_a_dent_that_is_there(slots: set[str], painted: bool, told: bool) -> None:
    known = {name: WHOLE[name] for name in slots}
    found = job(dent(readings=[Decimal(120)] if painted else [], risks=["texture"], **known),  # type: ignore[arg-type]
                told=[("texture", "")] if told else [])  # fmt: skip
    for gap in gaps(found):
        assert gap.dent in (None, 1)
        assert gap.id.partition(":")[0] in {item.id for item in items()}
        assert gap_text(gap.id) in gap.text
