"""Readings that were once wrong, each through the whole of the tool as typed words take it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from voicelog.cli.wiring import open_card
from voicelog.grammar import Network
from voicelog.jobs.logbook import Logbook
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.dialogue import Dialogue, Outcome
from voicelog.settings import Settings


class Typed:
    """Typed words and what the record holds after them."""

    def __init__(self, logbook: Logbook, network: Network, country: str = "GB") -> None:
        settings = Settings(country=country)
        self.logbook = logbook
        self.dialogue = Dialogue(logbook, network, settings.region, open_card(None, settings))

    def say(self, *lines: str) -> Outcome:
        """Take lines down; what became of the last one."""
        return [self.dialogue.take(Hypothesis(line, engine="typed")) for line in lines][-1]

    def dents(self) -> list[dict[str, Any]]:
        """Values of the dents of the job."""
        job = self.logbook.state.job
        return [] if job is None else [dent.values() for dent in job.dents.values()]


@pytest.fixture
def typed(tmp_path: Path, network: Network) -> Iterator[Typed]:
    with Logbook.open(tmp_path / "journal.db") as logbook:
        yield Typed(logbook, network)


def test_a_number_after_no_mends_what_was_said_last(typed: Typed) -> None:
    outcome = typed.say("bonnet steel thirty mil shallow push", "paint one two one", "no, one two four")
    assert outcome.to_json()["slots"] == {"paint_um": 124}
    job = typed.logbook.state.job
    assert job is not None
    assert [reading.um.value for reading in job.dents[1].readings] == [124]
    assert typed.dents()[0]["length_mm"] == 30


@pytest.mark.parametrize(
    ("said", "gone"),
    [("no crease", "shape"), ("no push", "method"), ("not steel", "material"), ("it's not shallow", "depth")],
)
def test_negation_takes_away_what_was_said(said: str, gone: str, typed: Typed) -> None:
    typed.say("bonnet steel thirty mil crease shallow push")
    before = typed.dents()[0]
    typed.say(said)
    assert typed.dents() == [{name: value for name, value in before.items() if name != gone}]


@pytest.mark.parametrize("said", ["no crease", "no filler", "not on the body line", "no push", "no trim off"])
def test_negation_adds_nothing(said: str, typed: Typed) -> None:
    typed.say("bonnet steel thirty mil shallow")
    before = typed.dents()
    typed.say(said)
    assert typed.dents() == before


@pytest.mark.parametrize(
    "said", ["front left door forty mil crease", "it's a big one that", "banana", "roof thirteen nickel size"]
)
def test_asked_asks_something_that_can_be_answered(said: str, typed: Typed) -> None:
    outcome = typed.say("new job", said)
    asked = outcome.heard.decision == "asked"
    assert asked == (outcome.heard.question is not None)
    if asked:
        assert typed.logbook.state.job is not None
        assert typed.logbook.state.job.questions


@pytest.mark.parametrize(
    ("said", "never"),
    [
        ("scratch that last bit", "material"),
        ("carbon bonnet", "shape"),
        ("a dozen dents on the roof", "access"),
        ("rod through the tail light", "shape"),
        ("wrong panel, it's the wing", "length_mm"),
    ],
)
def test_no_guess_changes_the_meaning(said: str, never: str, typed: Typed) -> None:
    typed.say("new job", "left door front")
    assert never not in typed.say(said).to_json()["slots"]
    assert len(typed.dents()) <= 2


def test_the_wrong_panel_is_corrected_and_opens_no_dent(typed: Typed) -> None:
    typed.say("front left door thirty mil", "wrong panel, it's the wing")
    assert [dent["panel"] for dent in typed.dents()] == ["wing"]


@pytest.mark.parametrize(
    ("said", "slot", "values"),
    [
        ("roof forty mil thirty mil", "length_mm", {40, 30}),
        ("roof steel aluminium", "material", {"steel", "aluminium"}),
    ],
)
def test_two_values_are_asked_about_and_both_are_named(
    said: str, slot: str, values: set[object], typed: Typed
) -> None:
    outcome = typed.say(said)
    assert outcome.heard.decision == "asked"
    held = outcome.heard.slots[slot]
    assert {held.value, *held.alternatives} == values


def test_right_on_the_body_line_is_no_side(typed: Typed) -> None:
    typed.say("front left door thirty mil", "right on the body line")
    assert [(dent["side"], dent.get("features")) for dent in typed.dents()] == [("left", ["body-line"])]


def test_back_on_it_is_no_end_of_the_car(typed: Typed) -> None:
    outcome = typed.say("left sill forty mil", "start work", "pause", "back on it")
    assert outcome.to_json()["slots"] == {"time": "resume"}
    assert "end" not in typed.dents()[0]


@pytest.mark.parametrize(
    "said", ["roof thirteen nickel size", "roof thirteen dimes", "roof two dozen, dimes"]
)
def test_a_count_without_the_word_dents_is_no_length(said: str, typed: Typed) -> None:
    values = typed.say(said).to_json()["slots"]
    assert values["length_mm"] < 22
    assert values.get("count") in (13, 24)


@pytest.mark.parametrize("country", ["AU", "NZ", "CA", "ZA", "IE", "CH", "JP"])
def test_a_job_can_be_taken_in_every_country(country: str, tmp_path: Path, network: Network) -> None:
    with Logbook.open(tmp_path / "other.db") as logbook:
        typed = Typed(logbook, network, country)
        assert typed.say("new job", "roof steel ten mil").heard.decision == "accepted"


def test_what_is_not_understood_is_kept_and_said(typed: Typed) -> None:
    outcome = typed.say("roof forty mil, valance is scuffed").to_json()
    assert outcome["slots"] == {"panel": "roof", "length_mm": 40}
    assert "valance" in " ".join(outcome["kept"])
    assert "kept" in outcome["answer"]
    lost = typed.say("the valance wants looking at").to_json()
    assert (lost["decision"], lost["slots"]) == ("kept", {})
    job = typed.logbook.state.job
    assert job is not None
    assert (1, "the valance wants looking at") in [(dent, words) for dent, words, _ in job.memos]
