"""Lengths in every unit, held against pint; coins against the mints' published figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest

from voicelog.errors import VoicelogError
from voicelog.grammar import Network
from voicelog.meaning.lengths import coin_mm
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand

UNITS = pint.UnitRegistry(non_int_type=Fraction)


def value(words: str, slot: str, network: Network, country: str = "GB") -> Decimal:
    note = understand(words, Region(country), network)
    assert not note.troubles, words
    return Decimal(note.slots[slot].value)  # type: ignore[arg-type]


def by_pint(number: str, unit: str, to: str) -> Decimal:
    """The number of `unit` in `to`, exact, by pint."""
    exact = (Fraction(number) * UNITS(unit)).to(to).magnitude
    return Decimal(Fraction(exact).numerator) / Decimal(Fraction(exact).denominator)


@pytest.mark.parametrize(
    ("words", "number", "unit"),
    [
        ("roof forty five mil", "45", "millimetre"),
        ("roof forty five millimetres", "45", "millimetre"),
        ("roof forty five millimeters", "45", "millimetre"),
        ("roof one millimetre by thirty mil", "1", "millimetre"),
        ("roof twelve centimetres", "12", "centimetre"),
        ("roof four point five centimeters", "4.5", "centimetre"),
        ("roof one inch", "1", "inch"),
        ("roof four and a half inches", "9/2", "inch"),
        ("roof three quarters of an inch", "3/4", "inch"),
        ("roof two and a quarter inches", "9/4", "inch"),
        ("roof an inch and a half", "3/2", "inch"),
        ("roof half an inch", "1/2", "inch"),
        ("roof quarter inch", "1/4", "inch"),
        ("roof five eighths of an inch", "5/8", "inch"),
        ("roof seven eighths inch", "7/8", "inch"),
        ("roof a sixteenth of an inch", "1/16", "inch"),
        ("roof one point two five inches", "1.25", "inch"),
        ("roof one hundred and ten", "110", "millimetre"),
    ],
)
def test_lengths_by_pint(words: str, number: str, unit: str, network: Network) -> None:
    assert value(words, "length_mm", network) == by_pint(number, unit, "millimetre")


@pytest.mark.parametrize(
    ("words", "number", "unit"),
    [
        ("paint one four two", "142", "micrometre"),
        ("paint one hundred and forty two microns", "142", "micrometre"),
        ("paint four mil", "4", "thou"),
        ("paint four point five mils", "4.5", "mil_length"),
        ("paint four and a half thou", "9/2", "thou"),
        ("paint six mils", "6", "thou"),
        ("paint twelve mils", "12", "thou"),
    ],
)
def test_paint_readings_by_pint(words: str, number: str, unit: str, network: Network) -> None:
    # pint's own "mil" is an angle; a thousandth of an inch is its "thou" or "mil_length".
    assert value(words, "paint_um", network) == by_pint(number, unit, "micrometre")


def test_mil_means_another_unit_in_each_slot(network: Network) -> None:
    assert value("roof five mil", "length_mm", network) == 5
    assert value("paint five mil", "paint_um", network) == 127


@pytest.mark.parametrize(
    "words",
    [
        "roof forty five by thirty mil", "roof forty five mil by thirty mil", "roof forty five by thirty",
        "roof forty five mil long thirty mil wide", "roof 45mm x 30mm",
        "roof length forty five width thirty mil",
    ],
)  # fmt: skip
def test_length_by_width(words: str, network: Network) -> None:
    assert value(words, "length_mm", network) == 45
    assert value(words, "width_mm", network) == 30


# 31 U.S.C. 5112(a)(1)-(6) in inches; the Mint's table prints two decimals of a millimetre.
US_INCHES = {
    "us-cent": "0.750", "us-nickel": "0.835", "us-dime": "0.705", "us-quarter": "0.955",
    "us-half-dollar": "1.205", "us-dollar": "1.043",
}  # fmt: skip


@pytest.mark.parametrize(("coin", "inches"), US_INCHES.items())
def test_us_coins_by_statute(coin: str, inches: str) -> None:
    assert abs(Decimal(coin_mm(coin, "US")) - by_pint(inches, "inch", "millimetre")) <= Decimal("0.005")


# Royal Mint figures as reproduced by several pages; the fifty pence also in The Gazette, notice
# 2505985; the pound on the Mint's own page for the twelve-sided coin.
GB_MM = {
    "gb-1p": "20.3", "gb-2p": "25.9", "gb-5p": "18.0", "gb-10p": "24.5", "gb-20p": "21.4", "gb-50p": "27.3",
    "gb-pound": "23.43", "gb-2-pound": "28.4",
}  # fmt: skip
# Council Regulation (EU) 729/2014, Annex I.
EU_MM = {
    "eu-1-cent": "16.25", "eu-2-cent": "18.75", "eu-5-cent": "21.25", "eu-10-cent": "19.75",
    "eu-20-cent": "22.25",
    "eu-50-cent": "24.25", "eu-1-euro": "23.25", "eu-2-euro": "25.75",
}  # fmt: skip


@pytest.mark.parametrize(("coin", "mm"), [*GB_MM.items(), *EU_MM.items()])
def test_british_and_euro_coins(coin: str, mm: str) -> None:
    assert abs(Decimal(coin_mm(coin, "GB")) - Decimal(mm)) <= Decimal("0.05")


@pytest.mark.parametrize(
    "order",
    [
        # By size, which is not the order of face values: catches swapped names.
        ["dime size", "penny size", "nickel size", "quarter dollar size", "dollar coin", "half dollar size"],
        ["five pence size", "one pence size", "twenty pence size", "pound coin", "ten pence size",
         "two pence size",
         "fifty pence size", "two pound size"],
        ["one cent size", "two cent size", "ten cent size", "five cent size", "twenty cent size",
         "one euro size",
         "fifty cent size", "two euro size"],
    ],
)  # fmt: skip
def test_coins_by_size_as_spoken(order: list[str], network: Network) -> None:
    country = {"dime size": "US", "five pence size": "GB", "one cent size": "IE"}[order[0]]
    sizes = [value(f"roof {coin}", "length_mm", network, country) for coin in order]
    assert sizes == sorted(sizes)
    assert len(set(sizes)) == len(sizes)


def test_a_penny_is_another_coin_elsewhere(network: Network) -> None:
    assert value("roof penny size", "length_mm", network, "GB") == Decimal("20.3")
    assert value("roof penny size", "length_mm", network, "US") == Decimal("19.05")


@pytest.mark.parametrize("words", ["left quarter quarter size", "left quarter panel size of a quarter"])
def test_the_coin_and_the_panel_do_not_collide(words: str, network: Network) -> None:
    note = understand(words, Region("US"), network)
    assert note.values() == {"side": "left", "panel": "quarter", "length_mm": 24.26}


def test_an_unknown_coin_is_refused_by_name() -> None:
    with pytest.raises(VoicelogError, match="groat"):
        coin_mm("groat", "GB")
