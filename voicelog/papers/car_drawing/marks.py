"""The panel plan of a job: outlines of the car, and a numbered mark for each dent.

The record names the panel, not the spot on it, so marks stand in rows within their
panel.  Dents whose panel is not on the drawing are named in words beneath it: none
is out of sight.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from voicelog.jobs.records import Dent
from voicelog.meaning.place import normal
from voicelog.papers.car_drawing.shapes import BARE_SHAPES, HEIGHT, PANEL_SHAPES, WIDTH, Box, Points
from voicelog.papers.wording import Words

CAPTION: Final = (
    "Seen from above with the sides opened out. Numbers as in the list; marks show the panel, not the spot."
)
_LARGEST: Final = 15.0
_SMALLEST: Final = 5.0
"""Half the height of a mark, largest where there is room and smallest where there is not."""


@dataclass(frozen=True)
class Outline:
    """A panel as drawn."""

    points: Points
    dented: bool = False
    glass: bool = False


@dataclass(frozen=True)
class Mark:
    """The mark of a dent; `half_width` and `half_height` around its middle."""

    x: float
    y: float
    half_width: float
    half_height: float
    dent: int
    """The number in it."""
    several: bool = False
    """Stands for many equal dents: drawn with a second ring."""


@dataclass(frozen=True)
class Plan:
    """The drawing, in units of `plan_shapes`, and its words."""

    outlines: tuple[Outline, ...]
    marks: tuple[Mark, ...]
    title: str
    spoken: tuple[str, ...]
    """One sentence a dent, for readers who cannot see the drawing."""
    beside: str
    """Dents that have no place on the drawing; empty where all have."""
    width: float = WIDTH
    height: float = HEIGHT

    @property
    def caption(self) -> str:
        """What stands beneath the drawing."""
        ring = " A double ring stands for several equal dents." if any(m.several for m in self.marks) else ""
        beside = f" Not on the drawing: {self.beside}." if self.beside else ""
        return CAPTION + ring + beside


def draw_plan(dents: Sequence[Dent], words: Words, title: str = "Panel plan") -> Plan:
    """The plan of the dents that count, in the order of the list."""
    chosen = _choose_panels(dents)
    placed: dict[int, list[Dent]] = {}
    for dent in dents:
        found = _find(dent, chosen)
        if found is not None:
            placed.setdefault(found, []).append(dent)
    outlines = [Outline(shape.points, glass=True) for shape in BARE_SHAPES]
    outlines += [Outline(shape.points, index in placed) for index, shape in enumerate(PANEL_SHAPES)]
    marks = [mark for index, held in placed.items() for mark in _marks(held, PANEL_SHAPES[index].inside)]
    marked = {mark.dent for mark in marks}
    beside = [dent for dent in dents if dent.number not in marked]
    return Plan(
        tuple(outlines),
        tuple(sorted(marks, key=lambda mark: mark.dent)),
        title,
        tuple(f"{_label(dent)}: {words.place(dent.place)}" for dent in dents),
        "; ".join(f"{_label(dent)} {words.place(dent.place)}" for dent in beside),
    )


def _choose_panels(dents: Sequence[Dent]) -> list[str]:
    """Which of the panels that share a place is drawn: the one with dents, the usual one if both have."""
    named = {dent.get("panel") for dent in dents}
    return [next((name for name in shape.panels if name in named), shape.panels[0]) for shape in PANEL_SHAPES]


def _find(dent: Dent, chosen: Sequence[str]) -> int | None:
    place = normal(dent.place)
    for index, shape in enumerate(PANEL_SHAPES):
        if normal((chosen[index], shape.end, shape.side)) == place:
            return index
    return None


def _several(dent: Dent) -> bool:
    return dent.get("count") not in (None, 1)


def _label(dent: Dent) -> str:
    """A dent in the words beneath the drawing: "4", or "4 ×22" for many equal ones."""
    return f"{dent.number} ×{dent.get('count')}" if _several(dent) else f"{dent.number}"


def _marks(dents: Sequence[Dent], inside: Box) -> list[Mark]:
    """Marks in rows that fill the box, smaller where there are many; those that find no room are left out."""
    left, top, right, bottom = inside
    width, height = right - left, bottom - top
    half = min(_LARGEST, max(9.0, width / 2, height / 2)) if min(width, height) > 30 else 9.0
    while True:
        wide = _half_width(max(len(str(dent.number)) for dent in dents), half)
        columns = max(1, int(width // (2 * wide + 2)))
        rows = max(1, int(height // (2 * half + 2)))
        if columns * rows >= len(dents) or half <= _SMALLEST:
            break
        half -= 0.5
    shown = dents[: columns * rows]
    used_rows = -(-len(shown) // columns)
    marks = []
    for index, dent in enumerate(shown):
        line, place = divmod(index, columns)
        in_line = min(columns, len(shown) - line * columns)
        x = left + width * (place + 0.5) / in_line
        y = top + height * (line + 0.5) / used_rows
        own = _half_width(len(str(dent.number)), half)
        marks.append(Mark(round(x, 2), round(y, 2), round(own, 2), half, dent.number, _several(dent)))
    return marks


def _half_width(letters: int, half: float) -> float:
    return max(half, half * (0.36 * letters + 0.42))
