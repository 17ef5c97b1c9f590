"""Customer and car by voice: dictated, spelled, corrected by spelling.  All of them are invented."""

from __future__ import annotations

import pytest

from voicelog.grammar import Network
from voicelog.meaning.note import Value
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.wording import spoken

GB, DE = Region("GB"), Region("DE")


@pytest.mark.parametrize(
    ("words", "slot", "value"),
    [
        ("customer is Harris", "customer", "Harris"),
        ("name spelled hotel alfa romeo romeo india sierra", "customer", "Harris"),
        ("customer is Harris, that's hotel alfa romeo romeo india sierra", "customer", "Harris"),
        ("customer's name is Haris spelled hotel alfa double romeo india sierra", "customer", "Harris"),
        ("Harris, that's hotel alfa romeo romeo india sierra", "customer", "Harris"),
        ("correct customer hotel alfa romeo romeo india sierra", "customer", "Harris"),
        ("change name to hotel alfa romeo romeo india sierra", "customer", "Harris"),
        # Numbers of Ofcom's range for drama, 07700 900000 to 900999.
        ("phone oh seven seven double oh nine hundred one two three", "phone", "07700900123"),
        ("mobile oh double seven double oh nine double oh triple one", "phone", "07700900111"),
        ("phone number is 07700 900123", "phone", "07700900123"),
        ("mobile 07700 900 456", "phone", "07700900456"),
        ("make is Example", "make", "Example"),
        ("model is Harrier", "model", "Harrier"),
        ("colour is metallic blue", "colour", "metallic blue"),
        ("year twenty nineteen", "year", 2019),
        ("insurer is Example Mutual", "insurer", "Example Mutual"),
        ("claim number alfa one two three", "claim", "A123"),
        ("claim number AB-123/4", "claim", "AB1234"),
        ("policy number is P99X", "policy", "P99X"),
        ("order number 4471", "order", "4471"),
        ("stock number S 12", "stock", "S12"),
        ("excess two fifty", "excess", 250),
        ("plate alfa triple one bravo", "plate", "A111B"),
    ],
)
def test_every_detail_in_the_ways_it_is_said_and_read_back(
    words: str, slot: str, value: Value, network: Network
) -> None:
    note = understand(words, GB, network)
    assert {name: held.value for name, held in note.slots.items()} == {slot: value}
    assert note.kept == ()
    assert spoken(note, GB).startswith(slot)


# A mile is 1.609344 km exactly (NIST Handbook 44, appendix C).
@pytest.mark.parametrize(
    ("words", "region", "value", "text"),
    [
        ("mileage sixty two thousand", GB, 62000, "mileage six two zero zero zero miles"),
        ("mileage sixty two thousand", DE, 62000, "mileage six two zero zero zero kilometres"),
        ("mileage is forty thousand kilometres", GB, 24855, "mileage two four eight five five miles"),
        ("mileage forty thousand miles", DE, 64374, "mileage six four three seven four kilometres"),
        ("forty thousand kilometres on the clock", GB, 24855, "mileage two four eight five five miles"),
    ],
)
def test_a_mileage_is_in_the_unit_of_the_country(
    words: str, region: Region, value: int, text: str, network: Network
) -> None:
    note = understand(words, region, network)
    assert note.slots["mileage"].value == value
    assert spoken(note, region) == text


@pytest.mark.parametrize("words", ["order parts", "stock steel"])
def test_words_without_a_figure_are_no_reference(words: str, network: Network) -> None:
    assert understand(words, GB, network).kind == "none"
