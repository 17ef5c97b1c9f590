"""Large letters from text cells: our own bitmap letters, drawn with block characters.

A pixel at scale 1 is a quarter of a terminal cell (quadrant blocks, Unicode
"Block Elements" U+2580 to U+259F), so that a letter takes about 3½ columns and
4 rows; at scale 2 a pixel is a whole cell, and so on.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

HEIGHT = 7
"""Height of every letter in pixels."""
SCALES = (4, 3, 2, 1)
"""Scales in use, largest first; a letter is `rows_at(scale)` rows high."""

_GAP = 1
_SPACE = 3
_QUADRANTS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"
_LIKE = {"—": "–", "−": "-", "’": "'", "\u00a0": " ", "\u202f": " ", "\u00b5": "µ", "\u03bc": "µ"}


@cache
def letters() -> dict[str, tuple[str, ...]]:
    """Rows of `#` and `.` by character."""
    text = files("voicelog.board.widgets").joinpath("letters.txt").read_text(encoding="utf-8")
    blocks = [block.splitlines() for block in text.split("\n\n")[1:]]
    return {block[0]: tuple(block[1 : 1 + HEIGHT]) for block in blocks}


def can_draw(text: str) -> bool:
    """Whether there is a letter for every character of `text` (in capitals)."""
    return all(char == " " or char in letters() for char in _plain(text))


def rows_at(scale: int) -> int:
    """Terminal rows of a line at `scale`."""
    return (HEIGHT * scale + 1) // 2


def columns_of(text: str, scale: int = 1) -> int:
    """Terminal columns that `text` takes at `scale`."""
    return (len(_bitmap(_plain(text))[0]) * scale + 1) // 2


def draw(text: str, scale: int = 1) -> list[str]:
    """`text` as lines of block characters, all of the same width."""
    return list(_drawn(_plain(text), scale))


@cache
def _drawn(text: str, scale: int) -> tuple[str, ...]:
    bitmap = _bitmap(text)
    wide = ["".join(pixel * scale for pixel in row) for row in bitmap]
    tall = [row for row in wide for _ in range(scale)]
    width = len(tall[0]) + len(tall[0]) % 2
    padded = [row.ljust(width, ".") for row in tall] + ["." * width] * (len(tall) % 2)
    return tuple(_cells(upper, lower) for upper, lower in zip(padded[::2], padded[1::2], strict=True))


def _plain(text: str) -> str:
    # The capital of the micro sign is a Greek letter; it stays as it is.
    return "".join(_LIKE.get(char) or char.upper() for char in text)


def _bitmap(text: str) -> list[str]:
    drawn = letters()
    rows = []
    for number in range(HEIGHT):
        parts = ["." * _SPACE if char == " " else drawn[char][number] for char in text]
        rows.append(("." * _GAP).join(parts))
    return rows


def _cells(upper: str, lower: str) -> str:
    cells = []
    for at in range(0, len(upper), 2):
        bits = (upper[at], upper[at + 1], lower[at], lower[at + 1])
        cells.append(_QUADRANTS[sum(1 << place for place, bit in enumerate(bits) if bit == "#")])
    return "".join(cells)
