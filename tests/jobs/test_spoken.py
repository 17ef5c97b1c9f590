"""How the session asks about contradictions, and what it says of paint readings and of risks told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.jobs.mini_jobs import ROOT, SteppedClock, network
from voicelog.answering.duration import spoken_seconds
from voicelog.estimate.card import load_card
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.meaning.region import Region
from voicelog.papers import Letterhead, write_papers
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.dialogue import Dialogue, Origin, Outcome

CARD = load_card(ROOT / "demo" / "rate-card.toml")
NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)

Say = Callable[..., Outcome]


@pytest.fixture
def logbook() -> Iterator[Logbook]:
    made = Logbook.in_memory(SteppedClock())
    yield made
    made.close()


@pytest.fixture
def say(logbook: Logbook) -> Say:
    """Says sentences; the outcome of the last."""
    dialogue = Dialogue(logbook, network(), Region("GB"), CARD)

    def take(*lines: str) -> Outcome:
        origin = Origin(clip=lambda: "sound of it")
        return [dialogue.take(Hypothesis(line, engine="typed"), origin) for line in lines][-1]

    return take


def current(logbook: Logbook) -> Job:
    found = logbook.state.job
    assert found is not None
    return found


SPOKEN = {
    "material": ("bonnet aluminium forty mil open access push", "push with magnetic base"),
    "method": ("roof steel forty mil open access paint broken", "glue pull"),
    "access": ("roof steel forty mil push", "no access"),
    "width_mm": ("roof steel thirty mil", "forty mil wide"),
    "belongs_to": ("roof steel thirty mil", "belongs to dent eight"),
}


class TestAsked:
    @pytest.mark.parametrize("slot", sorted(SPOKEN))
    def test_what_was_said_stays_in_doubt_and_yes_settles_it(
        self, slot: str, say: Say, logbook: Logbook
    ) -> None:
        outcome = say(*SPOKEN[slot])
        assert outcome.heard.decision == "asked"
        assert outcome.heard.question is not None
        assert outcome.heard.question.endswith("right?")
        held = current(logbook).dents[1].fields[slot]
        value = held.value
        assert held.slot.doubt
        if slot != "belongs_to":  # no price hangs on that
            assert not price_job(current(logbook), CARD).confirmed
        assert say("yes").heard.decision == "accepted"
        assert current(logbook).dents[1].fields[slot].confirmed
        assert current(logbook).dents[1].get(slot) == value
        assert not current(logbook).questions

    @pytest.mark.parametrize("slot", sorted(SPOKEN))
    def test_it_is_asked_in_under_four_seconds(self, slot: str, say: Say) -> None:
        assert spoken_seconds(str(say(*SPOKEN[slot]).heard.question)) < 4

    def test_a_step_puts_the_feature_it_contradicts_in_doubt(self, say: Say, logbook: Logbook) -> None:
        outcome = say("roof steel thirty mil paint broken push", "start work", "pull three times")
        assert outcome.heard.question == "pulled, but the paint is broken; is paint broken right?"
        say("yes")
        assert current(logbook).dents[1].get("features") == ("paint-broken",)
        assert current(logbook).dents[1].unconfirmed == []

    def test_no_clears_the_value(self, say: Say, logbook: Logbook) -> None:
        say(*SPOKEN["belongs_to"])
        say("no")
        assert current(logbook).dents[1].get("belongs_to") is None
        assert not current(logbook).questions

    def test_the_right_value_is_an_answer(self, say: Say, logbook: Logbook) -> None:
        say(*SPOKEN["material"])
        assert say("steel").heard.kind == "answer"
        assert current(logbook).dents[1].get("material") == "steel"
        assert current(logbook).dents[1].unconfirmed == []

    def test_an_answer_may_contradict_itself_again(self, say: Say, logbook: Logbook) -> None:
        say(*SPOKEN["belongs_to"])
        assert say("nine").heard.question == "there is no dent nine; is main dent nine right?"
        assert current(logbook).dents[1].fields["belongs_to"].slot.doubt
        assert len(current(logbook).questions) == 1
        say("next dent roof ten mil", "next dent roof twelve mil", "go to dent one", "three")
        assert current(logbook).dents[1].get("belongs_to") == 3
        assert not current(logbook).questions

    def test_a_question_is_an_event_and_undo_takes_it_back(self, say: Say, logbook: Logbook) -> None:
        say(*SPOKEN["material"])
        asked = [event.body for event in logbook.events() if isinstance(event.body, ev.Asked)]
        assert [(body.slot, body.dent) for body in asked] == [("material", 1)]
        assert "magnetic base" in asked[0].reason
        say("scratch that")
        assert not current(logbook).questions
        assert current(logbook).dents[1].fields["material"].confirmed

    def test_a_correction_is_looked_at_too(self, say: Say, logbook: Logbook) -> None:
        say("roof steel forty mil glue pull no access")
        outcome = say("correct method push")
        assert outcome.heard.question == "push, but no access; is push right?"
        assert not current(logbook).dents[1].fields["method"].confirmed

    def test_no_reference_has_a_side_on_a_fuel_flap(self, say: Say, logbook: Logbook) -> None:
        say("roof steel forty mil")
        outcome = say("reference one one eight on the left fuel flap")
        assert (outcome.heard.decision, outcome.heard.answer) == (
            "rejected",
            "fuel flap has no left and right",
        )
        assert current(logbook).references == []

    def test_what_agrees_is_not_asked_about(self, say: Say) -> None:
        outcome = say(
            "roof aluminium forty mil by thirty mil push open access", "paint one two zero eddy current"
        )
        assert outcome.heard.decision == "accepted"


class TestProbe:
    def test_a_reading_with_the_wrong_probe_is_in_doubt_until_confirmed(
        self, say: Say, logbook: Logbook
    ) -> None:
        outcome = say("roof aluminium forty mil push open access", "paint one two zero magnetic probe")
        assert outcome.heard.question == "magnetic probe on aluminium; is paint one two zero right?"
        (taken,) = current(logbook).dents[1].readings
        assert taken.um.value == 120
        assert not taken.um.confirmed
        assert not price_job(current(logbook), CARD).confirmed
        say("yes")
        assert current(logbook).dents[1].readings[0].um.confirmed

    def test_no_keeps_the_doubt_until_the_reading_is_corrected(self, say: Say, logbook: Logbook) -> None:
        say("roof aluminium forty mil push open access", "paint one two zero magnetic probe")
        assert say("no").heard.question == "say correct paint and the reading"
        assert not current(logbook).dents[1].readings[0].um.confirmed
        say("correct paint one one five")
        assert current(logbook).dents[1].readings[0].um.value == 115
        assert current(logbook).dents[1].readings[0].um.confirmed
        assert not current(logbook).questions

    def test_a_material_that_does_not_fit_the_probe_is_asked_about(self, say: Say, logbook: Logbook) -> None:
        outcome = say("roof forty mil push open access", "paint one two zero magnetic probe", "aluminium")
        assert outcome.heard.question == "magnetic probe on aluminium; is aluminium right?"
        assert current(logbook).dents[1].fields["material"].slot.doubt

    def test_a_reference_beside_the_dent(self, say: Say, logbook: Logbook) -> None:
        outcome = say("roof aluminium forty mil push open access", "reference one two zero magnetic probe")
        assert outcome.heard.question == "magnetic probe on aluminium; is reference one two zero right?"
        assert not current(logbook).references[0].um.confirmed


class TestPaintAloud:
    def test_what_is_notable_is_said_once(self, say: Say) -> None:
        say("roof steel forty mil push open access", "reference one two zero")
        heard = [
            say(f"paint {words}").heard.answer for words in ("one one nine", "two six zero", "two six two")
        ]
        assert heard == [
            "paint one one nine",
            "paint two six zero: thicker than the reference, refinish likely",
            "paint two six two",
        ]

    def test_read_back_tells_what_the_readings_suggest(self, say: Say) -> None:
        say("roof steel forty mil push open access", "paint one one seven", "reference one one seven")
        assert say("read back").heard.answer.endswith("paint 117, consistent with factory finish")

    def test_a_reference_can_make_a_reading_notable(self, say: Say) -> None:
        say("roof steel forty mil push open access", "paint two three zero")
        answer = say("reference one one zero").heard.answer
        assert answer == "reference one one zero: thicker than the reference, refinish likely"


class TestTold:
    LINES = ("front left door steel forty mil push open access crease may show", "customer told")

    def test_what_was_told_has_its_time_and_its_sound(self, say: Say, logbook: Logbook) -> None:
        """The event of the telling shares its group with the utterance, which holds words and clip."""
        say(*self.LINES)
        ((risk, at),) = current(logbook).told
        told = next(event for event in logbook.events() if isinstance(event.body, ev.Told))
        heard = next(
            event.body
            for event in logbook.events()
            if event.group == told.group and isinstance(event.body, ev.Heard)
        )
        assert (risk, heard.words, heard.clip) == ("crease-may-show", "customer told", "sound of it")
        assert told.at == at
        assert told.job == current(logbook).id
        assert datetime.fromisoformat(at).tzinfo is not None

    def test_a_risk_that_nobody_told_is_missing_until_told(self, say: Say) -> None:
        say(self.LINES[0])
        assert "customer not told" in all_missing(say)
        say(self.LINES[1])
        assert "customer not told" not in all_missing(say)

    @pytest.mark.parametrize("told", [False, True])
    def test_the_estimate_sheet_prints_it(
        self, told: bool, say: Say, logbook: Logbook, tmp_path: Path
    ) -> None:
        say(*self.LINES[: 2 if told else 1])
        page = html(logbook, tmp_path, "estimate")
        part = page.partition("What may remain")[2]
        assert "Crease may show" in part
        assert ("Told the customer on" in part) == ("2 March 2026" in part) == told


class TestFinished:
    def test_gaps_do_not_block_and_are_kept_and_printed(
        self, say: Say, logbook: Logbook, tmp_path: Path
    ) -> None:
        say("roof steel forty mil crease may show", "paint two six zero", "knock down")
        outcome = say("job finished")
        assert outcome.heard.decision == "accepted"
        assert set(current(logbook).gaps) == {"access:1", "reference:1", "told", "lines"}
        say("customer told")
        page = html(logbook, tmp_path, "day-log")
        for text in (
            "Missing when the job was finished", "Dent 1 access", "Dent 1 reference reading",
            "Customer not told", "Lines checked from two directions",
            "thicker: refinish likely; single readings only", "guidance, not a verdict",
            "eye protection", "(not acknowledged)",
        ):  # fmt: skip
            assert text in page


def all_missing(say: Say) -> str:
    """What is said to be missing when asked after every dent was given what it needs."""
    say("paint one two zero", "reference one two zero", "check lines from front and left")
    return say("what is missing").heard.answer


def html(logbook: Logbook, folder: Path, paper: str) -> str:
    """The page of a paper of the current job."""
    write_papers(
        logbook.state,
        CARD,
        Letterhead(name="Invented Dents"),
        folder,
        which=[paper],
        formats=["html"],
        now=NOW,
    )
    (page,) = folder.glob("*.html")
    return page.read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
