"""Several readings at one spot as one figure, in micrometres or mils."""

from __future__ import annotations

import statistics
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from voicelog.units import Units, figure, thickness


@dataclass(frozen=True)
class Spot:
    """Readings of one spot, in micrometres."""

    readings: tuple[Decimal, ...]
    """At least one, in the order in which they were taken."""
    enough: int = 3
    """So many readings make a spot measurement; with fewer they are single readings."""

    @property
    def count(self) -> int:
        """How many readings."""
        return len(self.readings)

    @property
    def mean(self) -> Decimal:
        """Arithmetic mean."""
        # Kept between the ends because a division that does not come out may round past them.
        mean = sum(self.readings, Decimal(0)) / self.count
        return min(self.most, max(self.least, mean))

    @property
    def spread(self) -> Decimal | None:
        """Standard deviation of a sample (n - 1); None for a single reading."""
        return statistics.stdev(sorted(self.readings)) if self.count > 1 else None

    @property
    def least(self) -> Decimal:
        """The lowest reading."""
        return min(self.readings)

    @property
    def most(self) -> Decimal:
        """The highest reading."""
        return max(self.readings)

    @property
    def single(self) -> bool:
        """Whether these are too few readings to speak for the spot."""
        return self.count < self.enough

    def text(self, units: Units = "mm") -> str:
        """As people read it: "142 µm (3 readings, 139 to 145 µm, spread 3.0)"."""
        if self.count == 1:
            return f"{thickness(self.mean, units)} (single reading)"
        few = ", single readings" if self.single else ""
        ends = f"{figure(self.least, units)} to {thickness(self.most, units)}"
        spread = "" if self.spread is None else f", spread {figure(self.spread, units, finer=1)}"
        return f"{thickness(self.mean, units)} ({self.count} readings{few}, {ends}{spread})"


def spot_of(values: Iterable[object], enough: int) -> Spot | None:
    """The spot of some readings; None without any number among them."""
    numbers = tuple(
        Decimal(value) for value in values if isinstance(value, int | Decimal) and not isinstance(value, bool)
    )
    return Spot(numbers, enough) if numbers else None
