"""Spoken numbers, held against num2words (both English variants) and the forms people use."""

from __future__ import annotations

from decimal import Decimal

import pytest
from num2words import num2words

from voicelog.grammar import Network
from voicelog.meaning.numbers import both_ways, in_figures, in_words, number_of
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand


def number(words: str, network: Network) -> object:
    """The number a lone number means."""
    note = understand(words, Region("GB"), network)
    assert note.kind == "answer", words
    assert not note.troubles, words
    return note.slots["number"].value


def spoken_forms(value: int) -> set[str]:
    """num2words in both variants, and the American form, which leaves the "and" out."""
    forms = {num2words(value, lang="en"), num2words(value, lang="en_GB")}
    return forms | {form.replace(" and ", " ") for form in forms}


@pytest.mark.parametrize("hundred", range(100))
def test_every_whole_number_said_as_num2words_says_it(hundred: int, network: Network) -> None:
    for value in range(hundred * 100, hundred * 100 + 100):
        for form in spoken_forms(value):
            assert number(form, network) == value, form


@pytest.mark.parametrize("value", [*range(130), 999, 1000, 1001, 1015, 1150, 1500, 9999])
def test_our_own_words_are_those_of_num2words(value: int) -> None:
    assert in_words(value) == num2words(value, lang="en_GB").replace("-", " ").replace(",", "")


# Forms from the workshop; digit by digit as ICAO Annex 10 Vol II 5.2.1.4.1 and FAA AIM 4-2-8 have
# it ("one zero", "niner"), the others common practice, no source.
@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("one ten", 110), ("one forty two", 142), ("nine ninety nine", 999), ("two fifty", 250),
        ("one one zero", 110), ("one zero", 10), ("one eight", 18), ("two oh five", 205), ("zero", 0),
        ("double one seven", 117), ("one double seven", 177), ("double five", 55), ("one double oh", 100),
        ("fifteen hundred", 1500), ("fifteen hundred and fifty", 1550), ("a hundred", 100), ("hundred", 100),
        ("a hundred and ten", 110), ("a thousand", 1000), ("one oh five", 105), ("niner", 9),
        ("one niner", 19),
        ("one two three four", 1234), ("two four zero zero", 2400), ("one one one seven", 1117),
        ("twenty-two", 22), ("one thousand, one hundred and fifty", 1150), ("one fifteen", 115),
        ("one five", 15),
        ("fifty five zero", 50), ("five zero fifty", 50), ("one one five one hundred and fifteen", 115),
    ],
)  # fmt: skip
def test_forms_people_use(words: str, value: int, network: Network) -> None:
    assert number(words, network) == value


@pytest.mark.parametrize("words", ["twenty twelve", "fifty one five", "ten ten", "five hundred hundred"])
def test_two_numbers_in_a_row_are_never_one(words: str, network: Network) -> None:
    note = understand(words, Region("GB"), network)
    assert note.kind == "none" or note.troubles or not note.slots["number"].confirmed


@pytest.mark.parametrize("tens", ["twenty", "thirty", "ninety"])
@pytest.mark.parametrize("figure", ["two", "five", "nine"])
@pytest.mark.parametrize("tail", ["dents", "mil"])
def test_one_number_is_never_read_as_two(tens: str, figure: str, tail: str, network: Network) -> None:
    note = understand(f"roof {tens} {figure} {tail}", Region("GB"), network)
    slot = "count" if tail == "dents" else "length_mm"
    assert set(note.slots) == {"panel", slot}
    assert str(note.slots[slot].value) == in_figures_of(tens, figure)
    parses = network.match(f"roof {tens} {figure} {tail}".split())
    assert len({str(parse.root) for parse in parses}) == 1


def in_figures_of(tens: str, figure: str) -> str:
    return {"twenty": "2", "thirty": "3", "ninety": "9"}[tens] + {"two": "2", "five": "5", "nine": "9"}[
        figure
    ]


@pytest.mark.parametrize("value", [7, 15, 50, 142, 9999])
def test_figures_are_spoken_one_by_one(value: int) -> None:
    assert in_figures(value).split() == [num2words(int(figure)) for figure in str(value)]


def test_both_ways_as_in_number_clarification() -> None:
    # FAA 7110.65 para 2-4-18 restates digits in group form: "One Seven Thousand, Seventeen Thousand".
    assert both_ways(15) == "fifteen, one five"
    assert both_ways(5) == "five"
    assert both_ways(Decimal("4.5")) == "four point five"


def test_no_number_tags_no_number() -> None:
    assert number_of([("panel", "door")]) is None


@pytest.mark.parametrize("value", [-1, 10000])
def test_out_of_range_has_no_words(value: int) -> None:
    with pytest.raises(ValueError, match="no words"):
        in_words(value)
