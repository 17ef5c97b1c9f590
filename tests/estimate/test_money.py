"""Money against ISO 4217, HMRC, the Streamlined agreement and CLDR; lengths against the inch."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency

from tests.estimate.plain_price import half_up
from voicelog.estimate.card import read_card
from voicelog.estimate.money import (
    currencies,
    format_money,
    minor_digits,
    money_text,
    round_money,
)
from voicelog.estimate.pricing.scenario import Terms, sums
from voicelog.units import format_length

D = Decimal


def test_minor_units_are_those_of_iso_4217() -> None:
    """Source: the SIX list of ISO 4217 in the iso4217 package; every currency of a country."""
    wrong = {c.code: (minor_digits(c.code), c.exponent) for c in Currency
             if c.code in currencies() and minor_digits(c.code) != c.exponent}  # fmt: skip
    assert wrong == {}
    assert len(currencies()) > 150


@pytest.mark.parametrize(
    ("currency", "text"),
    [("GBP", "1234.57"), ("USD", "1234.57"), ("EUR", "1234.57"), ("JPY", "1235"), ("KWD", "1234.568")],
)
def test_minor_units_of_the_five(currency: str, text: str) -> None:
    """Source: ISO 4217 (SIX list): 2, 2, 2, 0 and 3 decimals."""
    assert money_text(round_money(D("1234.5675"), currency), currency) == text


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [
        ("0.005", "0.01"), ("0.015", "0.02"), ("0.025", "0.03"),  # HMRC VATREC12030: 0.5p and above go up
        ("140.976", "140.98"),  # net 704.88 at 20 %
        ("1.234", "1.23"), ("1.235", "1.24"),  # Streamlined agreement s. 324, third decimal above four
        ("1.2346", "1.23"),  # and in one step: not by way of 1.235
        ("0.686875", "0.69"), ("6.875", "6.88"),  # 10.99 at 6.25 %, 100 at 6.875 %
        ("2.675", "2.68"), ("0.285", "0.29"), ("1.005", "1.01"),  # binary floats get these wrong
        ("-0.005", "-0.01"),
    ],
)  # fmt: skip
def test_halves_go_up_in_one_step(amount: str, rounded: str) -> None:
    assert round_money(D(amount), "GBP") == D(rounded)


@given(st.integers(1, 10**6), st.integers(1, 999), st.integers(1, 10**5))
def test_rounding_is_that_of_exact_fractions(minutes: int, parts: int, rate: int) -> None:
    """A third of a minute at any rate rounds as the exact fraction does."""
    exact = Fraction(minutes, parts) * Fraction(rate, 100) / 60
    amount = Decimal(exact.numerator) / Decimal(exact.denominator)
    assert Fraction(round_money(amount, "GBP")) == half_up(exact, 2)


def _tax(net: str, percent: str, included: bool = False) -> tuple[Decimal, Decimal, Decimal]:
    text = 'currency = "GBP"\nhourly_rate = 60\n[base]\npoints = [[10, 15], [20, 20]]\n'
    text += f"[tax]\npercent = {percent}\nincluded = {str(included).lower()}\n"
    card = read_card(text)
    result = sums(D(net), True, Terms(), card)
    return result.net, result.tax, result.total


@pytest.mark.parametrize(
    ("net", "percent", "tax", "gross"),
    [
        ("100", "20", "20", "120"), ("100", "5", "5", "105"),  # HMRC, calculating VAT on exclusive prices
        ("704.88", "20", "140.98", "845.86"),
        ("10.99", "6.25", "0.69", "11.68"), ("100", "6.875", "6.88", "106.88"),  # US, s. 324 rule
        ("100", "19", "19.00", "119.00"), ("49.95", "23", "11.49", "61.44"),  # EU, half a cent up
    ],
)  # fmt: skip
def test_tax_added(net: str, percent: str, tax: str, gross: str) -> None:
    assert _tax(net, percent) == (D(net), D(tax), D(gross))


@pytest.mark.parametrize(
    ("gross", "percent", "tax"),
    [
        ("120", "20", "20.00"), ("117.50", "17.5", "17.50"), ("115", "15", "15.00"), ("105", "5", "5.00"),
        ("845.86", "20", "140.98"), ("119", "19", "19.00"),
    ],
)  # fmt: skip
def test_tax_included_by_the_vat_fraction(gross: str, percent: str, tax: str) -> None:
    """Source: HMRC's VAT fractions 1/6, 7/47, 3/23, 1/21; in general rate/(100 + rate)."""
    net, found, total = _tax(gross, percent, included=True)
    assert (found, total) == (D(tax), D(gross))
    assert net + found == total


def test_tax_is_rounded_on_the_sum_not_by_line() -> None:
    """Source: arithmetic of 3 × 10.99 at 6.25 %: 2.06 on the invoice, 2.07 item by item."""
    assert _tax("32.97", "6.25")[1] == D("2.06")


@pytest.mark.parametrize(
    ("amount", "currency", "locale", "text"),
    [
        ("1234.5", "GBP", "en_GB", "£1,234.50"), ("1234.5", "USD", "en_US", "$1,234.50"),
        ("1234.5", "EUR", "de_DE", "1.234,50\N{NO-BREAK SPACE}€"), ("1234.5", "JPY", "en_US", "¥1,235"),
        ("1234.5", "KWD", "en_GB", "KWD1,234.500"), ("-5", "GBP", "en_GB", "-£5.00"),
        ("0.005", "GBP", "en_GB", "£0.01"),  # the library alone rounds halves to even
        ("1234.5", "RSD", "en_GB", "RSD1,234.50"),  # ISO 4217 has two decimals where CLDR shows none
    ],
)  # fmt: skip
def test_money_by_region(amount: str, currency: str, locale: str, text: str) -> None:
    """Source: CLDR through Babel, with the decimals of ISO 4217."""
    assert format_money(D(amount), currency, locale) == text


def test_lengths() -> None:
    """Source: NIST, one inch is 25.4 mm exactly."""
    assert format_length(D("25.4"), "inch", "en_US") == "1 in"
    assert format_length(45, "inch", "en_US") == "1.77 in"
    assert format_length(45) == "45 mm"


@pytest.mark.parametrize(
    ("currency", "text"),
    [("USD", "$32.54"), ("GBP", "£32.54"), ("EUR", "€32.54"), ("AUD", "$32.54"), ("CAD", "$32.54"),
     ("NZD", "$32.54"), ("ZAR", "R32,54")],
)  # fmt: skip
def test_money_is_written_as_at_its_home_where_no_locale_is_given(currency: str, text: str) -> None:
    """Source: CLDR's formats for English in the country whose code the currency's begins with (ISO 4217)."""
    assert format_money(D("32.54"), currency).replace("\u202f", "\u00a0") == text
