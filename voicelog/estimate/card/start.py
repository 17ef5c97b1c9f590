"""Starting cards: one commented text, filled in for a region.  All figures are invented."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from importlib.resources import files
from string import Template
from typing import Final

from babel.numbers import get_territory_currencies

from voicelog.errors import VoicelogError


@dataclass(frozen=True)
class _Start:
    """What differs from region to region; rates and charges are invented."""

    region: str
    currency: str
    hourly_rate: str
    tax_name: str
    tax_percent: str
    tax_note: str
    tax_included: str = "false"
    call_out: str = "0"
    units: str = "mm"
    name: str = "Starting card"


def _euro(country: str, percent: str) -> _Start:
    note = "the standard rate when this was written: check it"
    return _Start(country, "EUR", "70.00", "VAT", percent, note)


_STANDARD_RATES = {"DE": "19", "FR": "20", "IT": "22", "ES": "21", "NL": "21", "IE": "23", "AT": "20"}
"""Standard rates of VAT in percent on which several published tables agree."""

REGIONS: Final[dict[str, _Start]] = {
    "GB": _Start("GB", "GBP", "60.00", "VAT", "20", "standard rate; 0 if you are not registered"),
    "US": _Start(
        "US", "USD", "80.00", "Sales tax", "0",
        "your combined state and local rate; many states do not tax such labour", units="inch",
    ),
    "EU": _Start(
        "DE", "EUR", "70.00", "VAT", "19", "Germany's standard rate: set your country's"
    ),
    **{country: _euro(country, percent) for country, percent in _STANDARD_RATES.items()},
}  # fmt: skip
"""What a starting card exists for, by country (ISO 3166), and "EU"."""


def _neutral(country: str) -> _Start | None:
    """A card for a country without one of its own, in its currency; None where there is no such country."""
    currencies = get_territory_currencies(country) if country.isalpha() and len(country) == 2 else []
    if not currencies:
        return None
    note = "no figure of this card is usual in your country: set rate and tax"
    name = f"Neutral starting card for {country}, check every figure"
    return _Start(country, currencies[0], "60.00", "Tax", "0", note, name=name)


@lru_cache(maxsize=1)
def _template() -> Template:
    return Template((files("voicelog.estimate.card") / "cards" / "starting.toml").read_text(encoding="utf-8"))


def starting_card_text(region: str = "GB") -> str:
    """A commented card to start from, as `voicelog card new` prints it.

    Args:
        region: a key of `REGIONS` or another country (ISO 3166), in capitals or not; "UK" stands for "GB".

    Raises:
        VoicelogError: there is no such country.
    """
    key = region.upper()
    start = REGIONS.get("GB" if key == "UK" else key) or _neutral(key)
    if start is None:
        raise VoicelogError(
            f"no starting card for region {region}",
            todo=f"give a country by its two letters (ISO 3166), or one of {', '.join(REGIONS)}",
        )
    return _template().substitute(asdict(start))
