"""Lengths and film thicknesses: the one inch, and numbers as people read them.

Millimetres and micrometres are what is stored and priced; the rest is for display.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal
from typing import Final, Literal

from babel.units import format_unit

Units = Literal["mm", "inch"]
"""What lengths are shown in; with "inch" film thickness is shown in mils (thousandths of an inch)."""

MM_PER_INCH: Final = Decimal("25.4")
"""Exact since 1959 (NIST, "SI Units: Length")."""
KM_PER_MILE: Final = Decimal("1.609344")
"""Exact: 63,360 inches."""
UM_PER_MIL: Final = MM_PER_INCH
"""Micrometres in a thousandth of an inch: the same figure, a thousand times smaller on both sides."""
MM_PER: Final[dict[str, Decimal]] = {"mm": Decimal(1), "cm": Decimal(10), "inch": MM_PER_INCH}
"""Millimetres in one unit."""

_WIDE: Final = Context(prec=60)


def round_half_up(value: Decimal, decimals: int) -> Decimal:
    """A number to so many decimals; halves go up."""
    return value.quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP, context=_WIDE)


def format_number(value: Decimal) -> str:
    """A number without trailing noughts, at most two decimals, halves up: "12.5", "40"."""
    rounded = round_half_up(value, 2) + 0
    text = f"{rounded:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_length(mm: Decimal | int, units: Units = "mm", locale: str = "en_GB") -> str:
    """A length as the region writes it: "45 mm", or inches to two decimals, "1.77 in"; halves go up."""
    if units == "mm":
        return format_unit(mm, "length-millimeter", length="short", locale=locale)
    inches = round_half_up(Decimal(mm) / MM_PER_INCH, 2)
    return format_unit(inches, "length-inch", length="short", locale=locale)


def to_mils(um: Decimal) -> Decimal:
    """Thousandths of an inch."""
    return um / UM_PER_MIL


def figure(um: Decimal, units: Units = "mm", *, finer: int = 0) -> str:
    """A thickness without its unit: whole micrometres, or mils to one decimal; halves go up.

    Args:
        um: micrometres.
        units: "mm" for micrometres, "inch" for mils.
        finer: so many decimals more.
    """
    value, decimals = (um, finer) if units == "mm" else (to_mils(um), 1 + finer)
    return f"{round_half_up(value, decimals):f}"


def thickness(um: Decimal, units: Units = "mm") -> str:
    """A thickness with its unit: "142 µm" or "5.6 mils"."""
    return f"{figure(um, units)} {'µm' if units == 'mm' else 'mils'}"
