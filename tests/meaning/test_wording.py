"""What is said back: short, the numbers figure by figure, in the words of the region."""

from __future__ import annotations

from decimal import Decimal

import pytest

from voicelog.grammar import Network
from voicelog.meaning.answers import interpret_answer, offered
from voicelog.meaning.note import SlotValue, Value
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import understand_hypothesis
from voicelog.meaning.wording import (
    Form,
    missing_text,
    place_text,
    question_text,
    read_back,
    say_value,
    span,
    spoken,
)
from voicelog.recognition.hypothesis import Hypothesis

GB, US = Region("GB"), Region("US")
INCHES, GB_INCHES = Region("US", "inch"), Region("GB", "inch")


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (
            "rear right door steel forty five mil shallow push",
            "rear right door, steel, four five mil, shallow, push",
        ),
        ("hood one ten by ninety mil", "bonnet, one one zero by nine zero mil"),
        ("roof twenty two dents", "roof, two two dents"),
        ("trim off door card", "trim off door card"),
        ("pull three twenty mil crease tab", "pull three, two zero mil crease tab"),
        ("check lines from the left", "check lines left"),
        ("paint one four two", "paint one four two"),
        ("plate alfa bravo one two", "plate A B 1 2"),
        ("quote accepted", "quote accepted"),
        ("belongs to dent one", "belongs to dent one"),
        ("go to dent three", "dent three"),
        ("clear width", "clear width"),
        ("three quarters of an inch", "one nine point one mil"),
        ("start work", "start work"),
        ("next dent", "next dent"),
    ],
)
def test_read_backs(words: str, text: str, network: Network) -> None:
    assert spoken(understand(words, GB, network), GB) == text


# An inch is 25.4 mm exactly, a mil (thou) a thousandth of it (NIST, "SI Units: Length").
@pytest.mark.parametrize(
    ("words", "region", "text"),
    [
        ("hood three quarters of an inch", INCHES, "hood, zero point seven five inches"),
        ("hood two by one and a half inches", INCHES, "hood, two by one point five inches"),
        ("hood forty mil", INCHES, "hood, one point five seven inches"),
        ("paint five point six mils", INCHES, "paint five point six mils"),
        ("paint one four two", INCHES, "paint five point six mils"),
        ("paint one four two", GB_INCHES, "paint five point six thou"),
        ("pull three twenty mil crease tab", INCHES, "pull three, zero point seven nine inch crease tab"),
        ("roof twenty two dents", INCHES, "roof, two two dents"),
    ],
)
def test_inch_users_hear_inches(words: str, region: Region, text: str, network: Network) -> None:
    assert spoken(understand(words, region, network), region) == text


@pytest.mark.parametrize(
    ("slot", "held", "text", "answers"),
    [
        # As said, so that the words that sound alike are heard again.
        ("length_mm", SlotValue(15, "fifteen mil", (50,)), "length: fifteen, one five; or fifty, five zero?",
         {"one five": 15, "fifty mil": 50}),
        ("length_mm", SlotValue(Decimal("38.1"), "one and a half inches", (Decimal("63.5"),)),
         "length: one point five; or two point five inches?",
         {"one point five": Decimal("38.1"), "two and a half inches": Decimal("63.5")}),
        ("length_mm", SlotValue(40, "forty mil", (Decimal("50.8"),)),
         "length: one point five seven; or two inches?",
         {"two": Decimal("50.8"), "one point five seven": 40}),
        ("paint_um", SlotValue(Decimal("127"), "five mils", (Decimal("228.6"),)),
         "paint: five; or nine mils?",
         {"nine": Decimal("228.6")}),
    ],
)  # fmt: skip
def test_inch_users_are_asked_in_what_they_said(
    slot: str, held: SlotValue, text: str, answers: dict[str, Value], network: Network
) -> None:
    assert question_text(slot, held, INCHES) == text
    choices = (held.value, *held.alternatives)
    assert {
        said: interpret_answer(understand(said, INCHES, network), slot, choices) for said in answers
    } == answers


def test_the_region_chooses_the_words(network: Network) -> None:
    note = understand("left wing aluminium", GB, network)
    assert spoken(note, GB) == "left wing, aluminium"
    assert spoken(note, US) == "left fender, aluminum"


def test_a_full_read_back_is_spoken_in_about_four_seconds(network: Network) -> None:
    # At 180 words a minute four seconds hold twelve words (speaking rate: common practice, no source).
    note = understand("rear right door steel forty five mil shallow push", GB, network)
    assert len(spoken(note, GB).split()) <= 12


@pytest.mark.parametrize(
    ("slot", "held", "text"),
    [
        ("length_mm", SlotValue(15, "", (50,)), "length: fifteen, one five; or fifty, five zero?"),
        ("paint_um", SlotValue(115, "", (150,)),
         "paint: one hundred and fifteen, one one five; or one hundred and fifty, one five zero?"),
        ("side", SlotValue("left", "", ("right",)), "side: left; or right?"),
        ("panel", SlotValue("wing", "", ("sill",)), "panel: wing; or sill?"),
        ("length_mm", SlotValue(900, "", (), "unusual"),
        "length nine hundred, nine zero zero mil: is that right?"),
    ],
)  # fmt: skip
def test_questions_offer_two_choices_both_ways(slot: str, held: SlotValue, text: str) -> None:
    assert question_text(slot, held, GB) == text


def test_questions_for_what_is_missing() -> None:
    assert missing_text("side", GB) == "left or right?"
    assert missing_text("end", GB) == "front or rear?"
    assert missing_text("panel", GB) == "which panel?"


@pytest.mark.parametrize(
    ("words", "slot", "choices", "chosen"),
    [
        ("one five", "length_mm", (15, 50), 15),
        ("five zero", "length_mm", (15, 50), 50),
        ("fifty", "length_mm", (15, 50), 50),
        ("five zero fifty", "length_mm", (15, 50), 50),
        ("fifty mil", "length_mm", (15, 50), 50),
        ("no fifty", "length_mm", (15, 50), 50),
        ("no fifty mil", "length_mm", (15, 50), 50),
        ("rear right door fifty mil", "length_mm", (15, 50), 50),
        ("forty", "length_mm", (15, 50), None),
        ("yes", "length_mm", (15, 50), None),
        ("no", "length_mm", (15, 50), None),
        ("yes", "length_mm", (900,), 900),
        ("no", "length_mm", (900,), None),
        ("left", "side", ("left", "right"), "left"),
        ("one fifty", "paint_um", (115, 150), 150),
        ("paint one fifty", "paint_um", (115, 150), 150),
        ("body line", "features", ("body-line", "edge"), "body-line"),
        ("read back", "length_mm", (15, 50), None),
    ],
)
def test_answers(
    words: str, slot: str, choices: tuple[Value, ...], chosen: Value | None, network: Network
) -> None:
    assert interpret_answer(understand(words, GB, network), slot, choices) == chosen


def test_an_answer_that_may_be_misheard_again_settles_nothing(network: Network) -> None:
    for words, chosen in (
        ("fifteen", None),
        ("fifteen mil", None),
        ("one five", 15),
        ("fifty five zero", 50),
    ):
        note = understand_hypothesis(Hypothesis(words, 0.7, engine="test"), GB, network)
        assert interpret_answer(note, "length_mm", (15, 50)) == chosen


def test_an_answer_may_offer_a_value_nobody_asked_about(network: Network) -> None:
    assert offered(understand("forty", GB, network), "length_mm") == 40
    assert offered(understand("shallow", GB, network), "length_mm") is None


@pytest.mark.parametrize(
    ("seconds", "spoken", "screen", "paper"),
    [
        (0, "0 minutes", "0:00:00", "0 h 00 min"),
        (59.9, "1 minute", "0:00:59", "0 h 00 min"),
        (3900, "1 hour 5 minutes", "1:05:00", "1 h 05 min"),
        (-5, "0 minutes", "0:00:00", "0 h 00 min"),
    ],
)
def test_durations_in_every_form(seconds: float, spoken: str, screen: str, paper: str) -> None:
    forms: dict[Form, str] = {"spoken": spoken, "screen": screen, "paper": paper}
    assert {form: span(seconds, form) for form in forms} == forms


def test_places_for_the_eye() -> None:
    assert place_text(("door", "rear", "right"), Region("GB")) == "rear right door"
    assert place_text(("wing", "front", "left"), Region("US")) == "left fender"
    assert place_text((None, None, None), Region("GB")) == "panel not said"


def test_one_inch_is_no_plural() -> None:
    assert read_back({"length_mm": SlotValue(Decimal("25.4"))}, INCHES) == "one inch"
    assert read_back({"length_mm": SlotValue(Decimal("50.8"))}, INCHES) == "two inches"
    assert say_value("length_mm", Decimal("25.4"), INCHES) == "one inch"
