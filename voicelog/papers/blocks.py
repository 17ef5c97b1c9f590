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
    columns: int = 4
    """How many stand side by side."""
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
    """For the sum that counts."""
    sum: bool = False
    """It has two cells: the name of a sum, which stands beside its figure in the last column."""


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
    columns: int = 3
    kind: Literal["pictures"] = "pictures"


@dataclass(frozen=True)
class Signatures:
    """Lines to sign on."""

    labels: tuple[str, ...]
    kind: Literal["signatures"] = "signatures"


@dataclass(frozen=True)
class Beside:
    """Blocks beside each other, as facts and a small drawing."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    share: float = 0.66
    """Of the width, for the left."""
    kind: Literal["beside"] = "beside"


Block = Heading | Paragraph | Facts | Table | Notice | Drawing | Pictures | Signatures | Beside


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
    meta: tuple[tuple[str, str], ...] = ()
    """Names and values beside the title, after number and date: "Due", "Valid until"."""
    issued_on: str = ""
    """ISO date of a paper that was given out, so that it never changes; empty for all others."""
    seal: str = ""
    """A code over the journal that it was made from, for `voicelog verify --seal`."""

    @property
    def name(self) -> str:
        """Title and number: what the document is called."""
        return f"{self.title} {self.number}".strip()

    @property
    def heads(self) -> tuple[tuple[str, str], ...]:
        """What stands beside the title: number, date and the rest, without those that have no value."""
        rows = (("Number", self.number), ("Date", self.date), *self.meta)
        return tuple((name, value) for name, value in rows if value)


def cell(text: str, *small: str) -> Cell:
    """A cell with small print, empty lines of which are left out."""
    return Cell(text, tuple(line for line in small if line))


def row(*cells: Cell | str, strong: bool = False) -> Row:
    """A row of cells; its first cell names it."""
    return Row(tuple(item if isinstance(item, Cell) else Cell(item) for item in cells), strong)


def sum_row(name: str, figure: str, *small: str, strong: bool = False) -> Row:
    """The row of a sum below the rows of a table."""
    return Row((Cell(name), cell(figure, *small)), strong, sum=True)
