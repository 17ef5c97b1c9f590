"""Money as people read it, and its one rounding rule.

Rounding rule: to the currency's minor unit, once, halves away from zero ("half up").
HMRC (VATREC12030: "0.5p and above are rounded up") and the Streamlined Sales and Use
Tax Agreement, section 324 ("rounded up whenever the third decimal is greater than
four") ask for the same.  Formatting never rounds a second time.
"""

from __future__ import annotations

from copy import copy
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache
from typing import Final, cast

from babel import Locale
from babel.numbers import NumberPattern, get_currency_precision, get_territory_currencies

from voicelog.meaning.region import Region

EXACT: Final = Context(prec=60)
"""The context all estimates are computed in, whatever the caller has set."""

_ISO_DIGITS: Final = {
    "IQD": 3, "AFN": 2, "ALL": 2, "COP": 2, "HUF": 2, "IDR": 2, "IRR": 2, "KPW": 2, "LAK": 2, "LBP": 2,
    "MGA": 2, "MMK": 2, "RSD": 2, "SOS": 2, "SYP": 2, "YER": 2,
}  # fmt: skip
"""ISO 4217 where CLDR follows the coins in use instead."""

_SPARE_DIGITS: Final = 30
"""Decimals kept beyond the minor unit before the one rounding (see `round_money`)."""


@lru_cache(maxsize=256)
def minor_digits(currency: str) -> int:
    """Decimals of a currency by ISO 4217: GBP 2, JPY 0, KWD 3."""
    return _ISO_DIGITS.get(currency, get_currency_precision(currency))


@lru_cache(maxsize=1)
def currencies() -> frozenset[str]:
    """ISO 4217 codes in use today, by CLDR."""
    territories = Locale("en").territories
    return frozenset(code for place in territories for code in get_territory_currencies(str(place)))


@lru_cache(maxsize=256)
def _steps(currency: str) -> tuple[Decimal, Decimal]:
    digits = minor_digits(currency)
    return Decimal(1).scaleb(-digits), Decimal(1).scaleb(-digits - _SPARE_DIGITS)


def round_money(amount: Decimal, currency: str) -> Decimal:
    """`amount` rounded to the minor unit of `currency`, halves away from zero.

    A third of a minute cannot be written in decimals, so a figure that is exactly
    half a penny may arrive as 0.4999… with 60 digits.  The thirty decimals kept
    first bring it back to the half; nothing a rate card can hold lies nearer to a
    half than that without being one.
    """
    step, fine = _steps(currency)
    settled = amount.quantize(fine, context=EXACT)
    return settled.quantize(step, rounding=ROUND_HALF_UP, context=EXACT) + 0


def round_minutes(minutes: Decimal) -> Decimal:
    """Minutes as a line holds them, to a ten-thousandth; money is made from the unrounded ones."""
    return minutes.quantize(Decimal("0.0001"), rounding=ROUND_HALF_UP, context=EXACT) + 0


def money_text(amount: Decimal, currency: str) -> str:
    """A rounded amount as JSON and CSV hold it: "123.45", "-5.00", "1200"."""
    return f"{amount:.{minor_digits(currency)}f}"


def format_money(amount: Decimal, currency: str, locale: str = "") -> str:
    """An amount as the region writes it (CLDR): "£1,234.50", "1.234,50 €", "¥1,235".

    Without a locale it is written as at the currency's home (whose ISO 3166 code an ISO 4217 code
    begins with), in English: dollars in the US are "$", not "US$".
    """
    locale = locale or Region(currency[:2]).locale
    rounded = round_money(amount, currency)
    pattern = _pattern(locale, minor_digits(currency))
    return str(pattern.apply(rounded, locale, currency=currency, currency_digits=False))


@lru_cache(maxsize=64)
def _pattern(locale: str, digits: int) -> NumberPattern:
    """The region's own pattern for money, with the decimals of ISO 4217."""
    pattern = copy(Locale.parse(locale).currency_formats["standard"])
    pattern.frac_prec = (digits, digits)
    return cast(NumberPattern, pattern)
