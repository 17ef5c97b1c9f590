"""What a paper is made of, before anybody decides whether it becomes HTML or PDF.

Every string here is finished text for people; the writers only lay it out, so both
forms of a paper hold the same words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from voicelog.papers.car_drawing.marks import Plan
from voicelog.papers.letterhead import Letterhead

Align = Literal["left", "right"]


@dataclass(frozen=True)
class Heading:
    """A heading below the paper's title, which is level 1."""

    text: str
    level: Literal[2, 3] = 2
    kind: Literal["heading"] = "heading"


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str
    small: bool = False
    kind: Literal["paragraph"] = "paragraph"


@dataclass(frozen=True)
class Facts:
    """Names and values, as in "Plate: AB12 CDE"."""

    rows: tuple[tuple[str, tuple[str, ...]], ...]
    """(name, lines of the value)."""
    kind: Literal["facts"] = "facts"


@dataclass(frozen=True)
class Cell:
    """A cell: its text and what is said in small print beneath."""

    text: str
    small: tuple[str, ...] = ()


@dataclass(frozen=True)
class Column:
    """A column: its head, its share of the width, and how it is aligned."""

    head: str
    share: float = 1.0
    align: Align = "left"


@dataclass(frozen=True)
class Row:
    """A row; its first cell names it."""

    cells: tuple[Cell, ...]
    strong: bool = False
    """For the row of a sum."""


@dataclass(frozen=True)
class Table:
    """A table with a caption and column heads."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    kind: Literal["table"] = "table"


@dataclass(frozen=True)
class Notice:
    """A boxed list of things the reader must know."""

    title: str
    items: tuple[str, ...]
    tone: Literal["plain", "open"] = "plain"
    """open: something is not settled."""
    kind: Literal["notice"] = "notice"


@dataclass(frozen=True)
class Drawing:
    """The panel plan."""

    plan: Plan
    kind: Literal["drawing"] = "drawing"


@dataclass(frozen=True)
class Picture:
    """A thumbnail."""

    jpeg: bytes
    width: int
    height: int
    """Pixels."""
    caption: str
    describes: str
    """What stands for it where it cannot be seen."""


@dataclass(frozen=True)
class Pictures:
    """Thumbnails side by side."""

    items: tuple[Picture, ...]
    kind: Literal["pictures"] = "pictures"


@dataclass(frozen=True)
class Signatures:
    """Lines to sign on."""

    labels: tuple[str, ...]
    kind: Literal["signatures"] = "signatures"


Block = Heading | Paragraph | Facts | Table | Notice | Drawing | Pictures | Signatures


@dataclass(frozen=True)
class Paper:
    """A paper ready to be laid out."""

    title: str
    """What it is: "Estimate"."""
    number: str
    date: str
    letterhead: Letterhead
    blocks: tuple[Block, ...]
    addressee: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Title and number: what the document is called."""
        return f"{self.title} {self.number}"


def cell(text: str, *small: str) -> Cell:
    """A cell with small print, empty lines of which are left out."""
    return Cell(text, tuple(line for line in small if line))


def row(*cells: Cell | str, strong: bool = False) -> Row:
    """A row of cells."""
    return Row(tuple(item if isinstance(item, Cell) else Cell(item) for item in cells), strong)
