"""The card's `[hail]` table: what many small dents of one panel take together."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise
from math import ceil, floor, sqrt
from typing import Annotated

from pydantic import Field, model_validator

from voicelog.toml_model import Number, TomlModel, one_of
from voicelog.vocabulary import CHOICES

Density = Annotated[str, one_of(CHOICES["density"])]
Above = Annotated[Number, Field(gt=0, le=100_000)]
Dents = Annotated[int, Field(gt=0, le=9999)]


class Hail(TomlModel):
    """Minutes by count and size; `rows` empty prices counted dents one by one like any others."""

    sizes_mm: tuple[Above, ...] = ()
    """Longest extent of each column; what is longer is oversize and priced dent by dent."""
    rows: tuple[tuple[Above, ...], ...] = ()
    """Up to so many dents of a panel, then minutes for all of them, a figure for each size.  The last
    row holds for any larger count: it is the most for one panel."""
    density_percent: Mapping[Density, Annotated[Number, Field(ge=-50, le=500)]] = {}
    counts: Mapping[Density, tuple[Dents, Dents]] = {}
    """How many dents a panel has of which only the density was said: the price is a range over them."""
    oversize_mm: Above | None = None
    """Longest extent of an oversize dent whose size was not said."""
    area_m2: Mapping[Annotated[str, one_of(CHOICES["panel"])], Above] = {}
    """Of a panel, for a counted square."""

    @model_validator(mode="after")
    def _rising(self) -> Hail:
        """More dents and larger dents never take less, and a larger size never adds less to more dents.

        The last is what keeps one dent more, or one that is larger, from lowering a price.
        """
        if list(self.sizes_mm) != sorted(set(self.sizes_mm)):
            raise ValueError("sizes_mm must rise")
        for row in self.rows:
            if (
                len(row) != 1 + len(self.sizes_mm)
                or row[0] != int(row[0])
                or list(row[1:]) != sorted(row[1:])
            ):
                raise ValueError(f"the row of {row[0]} dents needs minutes for each size, never falling")
        for row, after in pairwise(self.rows):
            steps = zip(_steps(row), _steps(after), strict=True)
            if after[0] <= row[0] or any(less > more for less, more in steps):
                raise ValueError(
                    f"from the row of {row[0]} to that of {after[0]}: counts must rise, and neither minutes "
                    "nor what a larger size adds may fall"
                )
        for low, high in self.counts.values():
            if low > high:
                raise ValueError(f"counts {low} to {high}: the first must not be above the second")
        return self

    @property
    def in_brackets(self) -> bool:
        """Whether counted dents are priced by the table."""
        return bool(self.rows)

    def column(self, extent: Decimal) -> int | None:
        """The first column that a dent fits; None where it is oversize."""
        return next((at for at, size in enumerate(self.sizes_mm) if extent <= size), None)

    def row(self, count: int) -> tuple[Decimal, ...]:
        """The row of so many dents."""
        return next((row for row in self.rows if count <= row[0]), self.rows[-1])

    @property
    def most(self) -> int:
        """A count that no larger one is dearer than."""
        return int(self.rows[-1][0])

    def counts_of_square(self, count: int, side_mm: Decimal, area_m2: Decimal) -> tuple[int, int]:
        """Dents on a panel of which a square was counted, at least and at most.

        Hail that falls evenly is counted with a spread of about the root of the count: (√n − 1)² to
        (√(n + 1) + 1)² holds the exact 95 % interval of a Poisson count (Garwood 1936) and is no wider
        than need be.
        """
        squares = area_m2 * 1_000_000 / (side_mm * side_mm)
        low, high = max(0.0, sqrt(count) - 1) ** 2, (sqrt(count + 1) + 1) ** 2
        return max(count, floor(low * float(squares))), max(count, ceil(high * float(squares)))


def _steps(row: tuple[Decimal, ...]) -> list[Decimal]:
    """What each column adds to the one before it."""
    return [row[1], *(after - before for before, after in pairwise(row[1:]))]
