"""VINs, plates and the spelling alphabet, held against 49 CFR 565.15, vininfo, DVLA and ICAO."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from vininfo import Vin

from voicelog.grammar import Network
from voicelog.meaning.identify import check_digit, plate_doubt, vin_doubt
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import understand_hypothesis
from voicelog.recognition.hypothesis import Alternative, Hypothesis

# FAA AIM table 4-2-2, the same as ICAO Annex 10 Vol II: the code words in order.
ALPHABET = [
    "Alfa",
    "Bravo",
    "Charlie",
    "Delta",
    "Echo",
    "Foxtrot",
    "Golf",
    "Hotel",
    "India",
    "Juliett",
    "Kilo",
    "Lima",
    "Mike",
    "November",
    "Oscar",
    "Papa",
    "Quebec",
    "Romeo",
    "Sierra",
    "Tango",
    "Uniform",
    "Victor",
    "Whiskey",
    "X-ray",
    "Yankee",
    "Zulu",
]
# Other spellings in common use, none of them the standard's.
VARIANTS = {"Alpha": "A", "Juliet": "J", "Whisky": "W", "Xray": "X", "X ray": "X", "Viktor": "V"}
FIGURES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "niner")

# First: the sample calculation of 49 CFR 565.15; then worked examples published elsewhere.
GOOD = (
    "1G4AH59H45G118341", "1M8GDM9AXKP042788", "11111111111111111", "5GZCZ43D13S812715", "LJCPCBLCX11000237",
    "1FACP45EXLF192944", "WDBEA30D3HA391172", "1VWBP7A37DC046870", "1HGCM82633A004352", "JM1BN1U70H1100922",
    "KM8K2CAB4PU001140",
)  # fmt: skip
BAD = ("SGZCZ43D13S812715", "5GZCZ43D23S812715", "1G4AH59H45G118331", "VWVZZZ1JZXW000001")


def spell(text: str) -> str:
    return " ".join(ALPHABET[ord(sign) - 65] if sign.isalpha() else FIGURES[int(sign)] for sign in text)


@pytest.mark.parametrize("vin", GOOD)
def test_published_vins_pass(vin: str) -> None:
    assert vin_doubt(vin) == ""
    assert Vin(vin).verify_checksum()


@pytest.mark.parametrize("vin", BAD)
def test_published_wrong_vins_are_doubted(vin: str) -> None:
    assert "check digit" in vin_doubt(vin)
    assert not Vin(vin).verify_checksum()


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="ABCDEFGHJKLMNPRSTUVWXYZ0123456789", min_size=14, max_size=14))
def test_check_digit_agrees_with_vininfo(rest: str) -> None:
    # The maker is one that vininfo knows to use the digit.
    for digit in "0123456789X":
        vin = f"1G4{rest[:5]}{digit}{rest[6:]}"
        assert (check_digit(vin) == digit) is Vin(vin).verify_checksum(check_year=False)


@pytest.mark.parametrize("letter", "IOQ")
def test_forbidden_letters_are_named(letter: str) -> None:
    assert letter in vin_doubt("1G4AH59H45G11834" + letter)


def test_the_digit_cannot_catch_eight_for_h() -> None:
    # H and 8 have the same value in the table of 565.15: read-back is needed even when it agrees.
    assert vin_doubt("1G4A859H45G118341") == ""


def test_a_spelled_vin_is_doubted_not_refused(network: Network) -> None:
    good = understand(f"vin {spell('1G4AH59H45G118341')}", Region("US"), network)
    assert good.slots["vin"].value == "1G4AH59H45G118341"
    assert good.slots["vin"].doubt == ""
    bad = understand(f"vin {spell('1G4AH59H45G118331')}", Region("US"), network)
    assert bad.slots["vin"].value == "1G4AH59H45G118331"
    assert "check digit" in bad.slots["vin"].doubt
    assert not bad.troubles


@pytest.mark.parametrize(("place", "word"), list(enumerate(ALPHABET)))
def test_every_letter_of_the_alphabet(place: int, word: str, network: Network) -> None:
    note = understand(f"plate {word} one", Region("GB"), network)
    assert note.slots["plate"].value == f"{chr(65 + place)}1"


@pytest.mark.parametrize(("word", "letter"), VARIANTS.items())
def test_other_spellings_of_the_alphabet(word: str, letter: str, network: Network) -> None:
    assert understand(f"plate {word} one", Region("GB"), network).slots["plate"].value == f"{letter}1"


@pytest.mark.parametrize(
    ("word", "figure"), [*zip(FIGURES, "0123456789", strict=True), ("nine", "9"), ("oh", "0")]
)
def test_every_figure(word: str, figure: str, network: Network) -> None:
    assert understand(f"plate alfa {word}", Region("GB"), network).slots["plate"].value == f"A{figure}"


@pytest.mark.parametrize(
    ("typed", "slot", "value"),
    [
        ("plate AB12 CDE", "plate", "AB12CDE"),
        ("new job plate ab12cde", "plate", "AB12CDE"),
        ("vin 1G4AH59H45G118341", "vin", "1G4AH59H45G118341"),
        ("plate alpha bravo 12 charlie", "plate", "AB12C"),
        ("registration x ray one", "plate", "X1"),
    ],
)
def test_typed_plates(typed: str, slot: str, value: str, network: Network) -> None:
    assert understand(typed, Region("GB"), network).slots[slot].value == value


# DVLA INF104 as reproduced: no I or Q anywhere, no Z in the memory tag, Z allowed at the end, O legal.
@pytest.mark.parametrize("plate", ["AB12CDE", "BD51SMR", "LK53ZZZ", "OO21OOO"])
def test_british_plates(plate: str) -> None:
    assert plate_doubt(plate, "GB") == ""


@pytest.mark.parametrize("plate", ["AI12CDE", "ZB12CDE", "AB12CQE", "A", "ABCDEFGHJ"])
def test_impossible_british_plates_are_doubted(plate: str) -> None:
    assert plate_doubt(plate, "GB")


def test_other_plates_are_left_alone() -> None:
    assert plate_doubt("7ABC123", "US") == ""
    assert plate_doubt("ZI12CDE", "DE") == ""


@pytest.mark.parametrize(("country", "others"), [("GB", ()), ("US", ("TR2650WX",))])
def test_a_plate_that_is_given_out_is_no_odd_one(
    country: str, others: tuple[str, ...], network: Network
) -> None:
    """DVLA: two letters, two figures, three letters since September 2001; elsewhere no form is known."""
    plate = "plate tango romeo two six {} whiskey x-ray"
    heard = Hypothesis(
        plate.format("victor"), 0.7, (Alternative(plate.format("five oh"), 0.3),), engine="neural"
    )
    slot = understand_hypothesis(heard, Region(country), network).slots["plate"]
    assert (slot.value, slot.alternatives) == ("TR26VWX", others)
