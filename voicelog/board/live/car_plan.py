"""The plan of the car: panels as blocks seen from above, the sides opened out, front on top.

Pure drawing into text cells.  A panel that has no block (or whose block is in
use for another) is listed below the plan, so that no dent is out of sight.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voicelog.board.words import Wording
from voicelog.jobs.records import Dent
from voicelog.meaning.place import Place, normal

_COLUMNS = {"small": (2, 6, 2, 8, 2, 6, 2), "large": (3, 11, 3, 16, 3, 11, 3)}
"""Widths: sill, side panels, rail and pillars, middle, and the same mirrored."""
_ROWS = {"small": (1, 2, 1, 2, 1, 2, 1, 2, 1), "large": (2, 4, 1, 4, 1, 4, 1, 4, 2)}
"""Heights: bumper, wing, A, front door, B, rear door, C, quarter, bumper."""


@dataclass(frozen=True)
class Slot:
    """A place of the plan and the panels that may stand there, the usual one first."""

    columns: tuple[int, int]
    """First and last column of the grid."""
    rows: tuple[int, int]
    panels: tuple[str, ...]
    end: str | None = None
    side: str | None = None


def _both(column: int, rows: tuple[int, int], *panels: str, end: str | None = None) -> tuple[Slot, Slot]:
    mirrored = 6 - column
    return (
        Slot((column, column), rows, panels, end, "left"),
        Slot((mirrored, mirrored), rows, panels, end, "right"),
    )


_SLOTS: tuple[Slot, ...] = (
    Slot((3, 3), (0, 0), ("bumper",), "front"),
    Slot((3, 3), (1, 1), ("bonnet",)),
    Slot((3, 3), (3, 5), ("roof",)),
    Slot((3, 3), (7, 7), ("boot-lid", "tailgate")),
    Slot((3, 3), (8, 8), ("bumper",), "rear"),
    *_both(1, (1, 1), "wing"),
    *_both(1, (3, 3), "door", end="front"),
    *_both(1, (5, 5), "door", "sliding-door", end="rear"),
    *_both(1, (7, 7), "quarter", "bed-side"),
    *_both(0, (3, 5), "sill"),
    *_both(2, (3, 5), "roof-rail"),
    *_both(1, (2, 2), "pillar-a"),
    *_both(1, (4, 4), "pillar-b"),
    *_both(1, (6, 6), "pillar-c"),
    *_both(2, (7, 7), "pillar-d"),
)


@dataclass(frozen=True)
class Block:
    """One panel as drawn; cells count from the plan's upper left corner."""

    x: int
    y: int
    width: int
    height: int
    label: str
    dents: int
    is_open: bool
    panel: str


@dataclass(frozen=True)
class Plan:
    """The blocks, the plan's size in cells, and what has no block: (place, dents)."""

    blocks: tuple[Block, ...]
    width: int
    height: int
    elsewhere: tuple[tuple[str, int], ...]


def plan(dents: Iterable[Dent], open_dent: int | None, wording: Wording, *, large: bool = False) -> Plan:
    """The plan with the dents counted by panel; a count note counts as that many."""
    listed = list(dents)
    counts: dict[Place, int] = {}
    for dent in listed:
        counts[dent.place] = counts.get(dent.place, 0) + int(dent.get("count") or 1)
    open_place = next((dent.place for dent in listed if dent.number == open_dent), None)
    size = "large" if large else "small"
    blocks = tuple(_block(slot, counts, open_place, wording, size) for slot in _SLOTS)
    elsewhere = tuple((wording.place(place), number) for place, number in counts.items())
    return Plan(blocks, sum(_COLUMNS[size]), sum(_ROWS[size]), elsewhere)


def _block(
    slot: Slot, counts: dict[Place, int], open_place: Place | None, wording: Wording, size: str
) -> Block:
    """The block of a slot; takes the dents it shows out of `counts`."""
    panel = next((name for name in slot.panels if _on(slot, name, counts)), slot.panels[0])
    places = _on(slot, panel, counts)
    dents = sum(counts.pop(place) for place in places)
    columns, rows = _COLUMNS[size], _ROWS[size]
    (left, right), (top, bottom) = slot.columns, slot.rows
    return Block(
        x=sum(columns[:left]),
        y=sum(rows[:top]),
        width=sum(columns[left : right + 1]),
        height=sum(rows[top : bottom + 1]),
        label=_label(slot, panel, wording),
        dents=dents,
        is_open=open_place in places,
        panel=panel,
    )


def _on(slot: Slot, panel: str, counts: dict[Place, int]) -> list[Place]:
    """The places of `panel` with dents that belong in the slot."""
    there = normal((panel, slot.end, slot.side))
    return [place for place in counts if normal(place) == there]


def _label(slot: Slot, panel: str, wording: Wording) -> str:
    if panel.startswith("pillar"):
        return panel[-1].upper()
    name = wording.place((panel, None, None), short=True)
    return f"{slot.end}" if panel in ("bumper", "door") and slot.end else name
