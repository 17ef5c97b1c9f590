"""How large the letters of the live board are: as large as every band finds room for."""

from __future__ import annotations

from dataclasses import dataclass

from voicelog.board.widgets.letters import SCALES, rows_at

NARROW_COLUMNS = 72
"""Below this (a telephone held upright) a line of large letters may be broken in two."""
_HEARING, _HEAD, _ASKING = 2, 1, 3
"""Rows of small print: what was heard and answered, which dent, the question in words."""
_PLANS = {"large": (160, 26), "small": (100, 13)}
"""Columns of the screen and free rows from which there is room for the plan of the car."""


@dataclass(frozen=True)
class Sizes:
    """What fits; scales as in `letters.SCALES`, 0 for a line of plain text."""

    letters: int
    ear: int
    lines: int
    """Lines that a text may be broken into: 1 or 2."""
    total_lines: int
    place: bool
    """Whether the place stands in large letters; the head line names it in any case."""
    plan: str
    """"large", "small" or "" for none."""


def fit(columns: int, rows: int, *, asking: bool = False, small_print: int = 1) -> Sizes:
    """The largest letters at which place, size, what to say next (or the question) and total are in sight.

    Args:
        columns: of the screen.
        rows: of the screen.
        asking: a question is open; it takes the band of what to say next.
        small_print: rows of the footer, cautions and the mode.
    """
    narrow = columns < NARROW_COLUMNS
    fixed = _HEARING + _HEAD + small_print + (_ASKING + 2 * narrow if asking else 0)
    most = 3 if asking else 4
    lines = 2 if narrow and rows >= (2 * most + 1) * rows_at(1) + fixed else 1
    bands = most * lines
    for scale in SCALES[-1:] if narrow else SCALES:
        ear = max(1, scale - 1)
        left = rows - fixed - rows_at(ear) - bands * rows_at(scale)
        if left >= 0:
            break
    else:
        ear, left = 0, rows - fixed - 1 - bands * rows_at(scale)
    place = not asking or left >= lines * rows_at(scale)
    free = left + 2 * lines * rows_at(scale) if not asking else 0
    plan = next((name for name, (wide, tall) in _PLANS.items() if columns >= wide and free >= tall), "")
    total_lines = 2 if left >= rows_at(scale) else lines
    return Sizes(scale, min(ear, 2), lines, total_lines, place, plan)
