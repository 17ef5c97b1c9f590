"""What depends on where the technician works: sides of the road and trade words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from babel import Locale, UnknownLocaleError

from voicelog.units import Units

DRIVE_ON_LEFT = frozenset({
    "AG", "AU", "BB", "BD", "BM", "BN", "BS", "BT", "BW", "CY", "DM", "FJ", "FK", "GB", "GD", "GG",
    "GY", "HK", "ID",
    "IE", "IM", "IN", "JE", "JM", "JP", "KE", "KI", "KN", "KY", "LC", "LK", "LS", "MO", "MT", "MU",
    "MV", "MW", "MY",
    "MZ", "NA", "NP", "NR", "NZ", "PG", "PK", "SB", "SC", "SG", "SR", "SZ", "TH", "TL", "TO", "TT",
    "TV", "TZ", "UG",
    "VC", "WS", "ZA", "ZM", "ZW",
})  # fmt: skip
"""ISO 3166 codes of countries that drive on the left (from memory; see the tests for those checked)."""

AMERICAN_WORDS = frozenset({"US", "CA", "MX", "PR", "PH"})
"""Countries whose trade words are American."""

MILES = frozenset({"GB", "GG", "IM", "JE", "LR", "PR", "US", "VI"})
"""Countries that measure roads in miles (CLDR's unit preferences have GB and US; the others from memory)."""


@dataclass(frozen=True)
class Region:
    """The country in the settings and what follows from it."""

    country: str = "GB"
    """ISO 3166 alpha-2 code."""
    units: Units = "mm"
    """What lengths are heard and shown in."""

    @property
    def locale(self) -> str:
        """The CLDR locale of the country, in English: "en_GB", which also stands in where there is none."""
        name = f"en_{self.country.upper()}"
        try:
            Locale.parse(name)
        except (UnknownLocaleError, ValueError):
            return "en_GB"
        return name

    @property
    def drives_on_left(self) -> bool:
        """Whether traffic keeps to the left, so that the driver sits on the right."""
        return self.country.upper() in DRIVE_ON_LEFT

    @property
    def distance(self) -> Literal["miles", "kilometres"]:
        """What distances are told in."""
        return "miles" if self.country.upper() in MILES else "kilometres"

    @property
    def american(self) -> bool:
        """Whether output uses American trade words ("hood")."""
        return self.country.upper() in AMERICAN_WORDS

    def side(self, said: str) -> str:
        """Left or right for a side as said: left, right, nearside, offside, driver, passenger.

        The driver sits away from the kerb, which is the offside.
        """
        if said in ("left", "right"):
            return said
        away_from_kerb = "right" if self.drives_on_left else "left"
        at_the_kerb = "left" if self.drives_on_left else "right"
        return away_from_kerb if said in ("offside", "driver") else at_the_kerb
