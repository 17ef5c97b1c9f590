"""Lengths as they are said: units, and coins by their published diameter."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from decimal import Decimal
from functools import cache
from importlib import resources

from voicelog.errors import VoicelogError
from voicelog.meaning.numbers import number_of, tidy
from voicelog.units import MM_PER, UM_PER_MIL


def length_mm(tags: Sequence[tuple[str, str]], unit: str = "mm") -> int | Decimal | None:
    """Millimetres from number tags and a `unit` tag; `unit` counts where none was said."""
    number = number_of(tags)
    if number is None:
        return None
    said = next((value for name, value in tags if name == "unit"), unit)
    return tidy(Decimal(number) * MM_PER[said])


def thickness_um(tags: Sequence[tuple[str, str]]) -> int | Decimal | None:
    """Micrometres from number tags; a `unit` tag of `thou` makes it thousandths of an inch.

    So does a number without a unit that no paint has in micrometres: "four and a half".
    """
    number = number_of(tags)
    if number is None:
        return None
    units = [value for name, value in tags if name == "unit"]
    thou = "thou" in units or (not units and number < THINNEST_UM)
    return tidy(Decimal(number) * UM_PER_MIL) if thou else number


THINNEST_UM = 10
"""No paint on a car is thinner than this; a smaller number is one of thousandths of an inch."""


@cache
def _coin_table() -> tuple[dict[str, Decimal], dict[str, list[tuple[frozenset[str], str]]]]:
    source = resources.files("voicelog.meaning") / "coins.toml"
    data = tomllib.loads(source.read_text(encoding="utf-8"))
    diameters = {name: Decimal(value) for name, value in data["diameter_mm"].items()}
    local = {
        entry["name"]: [(frozenset(row["countries"]), row["coin"]) for row in entry["coins"]]
        for entry in data["local"]
    }
    return diameters, local


def coin_mm(name: str, country: str) -> int | Decimal:
    """Diameter of a coin in millimetres.

    Args:
        name: a coin of `coins.toml`, or a name whose coin depends on the country ("penny").
        country: ISO 3166 alpha-2 code.

    Raises:
        VoicelogError: for a coin the table does not have.
    """
    diameters, local = _coin_table()
    for countries, coin in local.get(name, ()):
        if country in countries or "*" in countries:
            name = coin
            break
    if name not in diameters:
        raise VoicelogError(
            f"no diameter for the coin {name!r}", where="coins.toml", todo="add it to the table"
        )
    return tidy(diameters[name])
