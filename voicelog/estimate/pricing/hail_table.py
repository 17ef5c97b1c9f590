"""Counted hail dents of one panel, priced by the card's table of counts and sizes.

All dents together stand in the row of their count, in the first column; those of a larger
size add what the next column has more, in the row of *their* count, and so on.  Percentages
(material, depth, access, density …) work the same way: what only some dents carry is laid on
the table's minutes for those alone.  So the order in which dents are said does not matter, n dents said
one by one cost what one note of n costs, and neither a dent more nor a larger or harder one lowers the sum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from voicelog.estimate.card.hail import Hail
from voicelog.estimate.estimate import ZERO, Entry
from voicelog.units import format_number

HUNDRED = Decimal(100)


@dataclass(frozen=True)
class Counted:
    """What each dent of a note brings to the table of its panel."""

    column: int
    percent: Decimal
    """All that is added, above -100."""


Notes = Sequence[tuple[Counted, int]]
"""What each dent of a note brings, and how many dents it has."""


def minutes_of(notes: Notes, hail: Hail) -> Decimal:
    """Minutes for all counted dents of a panel."""
    levels = [-HUNDRED, *sorted({one.percent for one, _ in notes})]
    return sum(
        (
            _plain([note for note in notes if note[0].percent >= level], hail) * (level - below) / HUNDRED
            for below, level in pairwise(levels)
        ),
        ZERO,
    )


def _plain(notes: Notes, hail: Hail) -> Decimal:
    """Minutes of the table without any percentage."""
    minutes = ZERO
    for column in range(len(hail.sizes_mm)):
        count = sum(many for one, many in notes if one.column >= column)
        if count:
            row = hail.row(count)[1:]
            minutes += row[column] - (row[column - 1] if column else ZERO)
    return minutes


def entry_of(one: Counted, notes: Notes, hail: Hail) -> Entry:
    """The row and column that a note stands in, with all dents said before it."""
    count = sum(many for other, many in notes if other.column >= one.column)
    row = hail.row(count)
    size = format_number(hail.sizes_mm[one.column])
    percent = f", {format_number(one.percent)} % on them" if one.percent else ""
    minutes = format_number(row[one.column + 1])
    effect = f"{count} dents so far on the panel: row of {row[0]:f}, up to {size} mm, {minutes} min{percent}"
    return Entry("hail", "rows", f"[{', '.join(format_number(figure) for figure in row)}]", effect)
