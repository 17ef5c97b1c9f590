"""Pages to write on: fonts, lines of text, page breaks, running heads and page numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib.resources import as_file, files
from typing import Final, cast

from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from fpdf.enums import MethodReturnValue
from fpdf.prefs import ViewerPreferences

from voicelog.papers.blocks import Align, Paper
from voicelog.papers.layout.pdf_tags import TaggedPDF
from voicelog.papers.letterhead import PAPER_MM
from voicelog.papers.text import ISOLATE_END, ISOLATE_START, isolated, right_to_left
from voicelog.units import MM_PER_PT

Colour = tuple[int, int, int]
INK: Final[Colour] = (27, 27, 27)
SOFT: Final[Colour] = (85, 85, 85)
RULE: Final[Colour] = (154, 154, 154)
SHADE: Final[Colour] = (239, 239, 239)
ACCENT: Final[Colour] = (20, 80, 107)

SIDE: Final = 16.0
TOP: Final = 16.0
BOTTOM: Final = 17.0
"""Margins in mm."""
FAMILY: Final = "DejaVu"


@dataclass(frozen=True)
class Style:
    """How a line of text looks."""

    size: float
    """Points."""
    bold: bool = False
    colour: Colour = INK
    leading: float = 1.32
    """Height of a line as a multiple of the size."""

    @property
    def height(self) -> float:
        """Height of a line in mm."""
        return self.size * self.leading * MM_PER_PT


BODY: Final = Style(9.5)
BOLD: Final = Style(9.5, bold=True)
SMALL: Final = Style(8, colour=SOFT)
HEAD: Final = Style(8, bold=True)
SUM: Final = Style(11, bold=True)
TITLE: Final = Style(20, bold=True, colour=ACCENT)
SECTIONS: Final = {2: Style(12, bold=True, colour=ACCENT), 3: Style(10.5, bold=True)}

Line = tuple[str, Style]


class Sheet(TaggedPDF):
    """A document being written from top to bottom; `y` is where the next thing goes."""

    def __init__(self, paper: Paper, made_at: datetime) -> None:
        super().__init__(unit="mm", format=PAPER_MM[paper.letterhead.paper])
        self.paper = paper
        self.set_auto_page_break(False)
        self.set_margins(SIDE, TOP, SIDE)
        self.c_margin = 0
        self._load_fonts()
        self.set_title(paper.name)
        self.set_author(plain_text(paper.letterhead.name))
        self.set_creator("voicelog")
        self.set_lang(paper.letterhead.language)
        self.set_creation_date(made_at)
        self.viewer_preferences = ViewerPreferences(display_doc_title=True)
        self.add_page()
        self._foot()

    def _load_fonts(self) -> None:
        for style, name in (("", "DejaVuSansCondensed.ttf"), ("B", "DejaVuSansCondensed-Bold.ttf")):
            with as_file(files("voicelog.papers.layout") / "fonts" / name) as path:
                self.add_font(FAMILY, style, path)

    @property
    def body_height(self) -> float:
        """Height in mm between the margins of a page."""
        return float(self.h) - TOP - BOTTOM

    @property
    def room(self) -> float:
        """Height in mm that is left on this page."""
        return float(self.h) - BOTTOM - float(self.y)

    def need(self, height: float) -> None:
        """Begin a new page unless `height` mm are left on this one."""
        if height > self.room + 0.01:
            self.new_page()

    def new_page(self) -> None:
        """Begin a page with the running head."""
        self.add_page()
        self._foot()
        with self.artifact():
            half = self.epw / 2 - 2
            self.put(SIDE, TOP - 6, half, self._short(self.paper.letterhead.name, half), SMALL)
            self.put(SIDE + half + 4, TOP - 6, half, self._short(self.paper.name, half), SMALL, "right")
        self.set_y(TOP)

    def _foot(self) -> None:
        """The name of the paper and "page n of m"; fpdf2 puts in m when the last page is known."""
        y = float(self.h) - BOTTOM + 4
        with self.artifact():
            self.rule(y - 1)
            self.put(SIDE, y, self.epw, self._short(self.paper.name, self.epw - 30), SMALL)
            width = self.width_of(f"page {self.page} of 9", SMALL) + 0.5
            self.put(SIDE + self.epw - width, y, width, f"page {self.page} of {{nb}}", SMALL)

    def _short(self, text: str, width: float) -> str:
        """One small line of a text that may be longer, with an ellipsis where it is."""
        lines = self.broken(isolated(text), width - 3, SMALL)
        return "" if not lines else lines[0][0] if len(lines) == 1 else f"{lines[0][0].strip()}…"

    def rule(self, y: float, width: float = 0.25, colour: Colour = RULE) -> None:
        """A line across the page; to be drawn as an artifact."""
        self.set_draw_color(*colour)
        self.set_line_width(width)
        self.line(SIDE, y, SIDE + self.epw, y)

    def broken(self, text: str, width: float, style: Style) -> list[Line]:
        """`text` as the lines it takes in `width` mm.

        Each ends with a space, so that its last word and the next line's first stay apart
        where the tagged text is read.
        """
        shown = plain_text(text)
        if not shown:
            return []
        self._use(style)
        with self._shaped(shown):
            lines = cast(
                "list[str]",
                self.multi_cell(width, text=shown, dry_run=True, output=MethodReturnValue.LINES),
            )
        return [(line if right_to_left(line) else f"{line} ", style) for line in lines]

    def put(self, x: float, y: float, width: float, text: str, style: Style, align: Align = "left") -> None:
        """One line of text with its upper edge at `y`; where next to write stays as it was."""
        before = self.y
        self._use(style)
        self.set_xy(x, y)
        with self._shaped(text):
            self.cell(width, style.height, text, align="R" if align == "right" else "L")
        self.set_y(before)

    def width_of(self, text: str, style: Style) -> float:
        """The width of a line in mm."""
        self._use(style)
        return float(self.get_string_width(text))

    def _use(self, style: Style) -> None:
        self.set_font(FAMILY, "B" if style.bold else "", style.size)
        self.set_text_color(*style.colour)

    @contextmanager
    def _shaped(self, text: str) -> Iterator[None]:
        """Text from right to left needs its letters joined and put in order."""
        self.set_text_shaping(right_to_left(text))
        yield
        self.set_text_shaping(False)

    def write_lines(self, lines: Sequence[Line], tag: str, indent: float = 0, after: float = 0) -> None:
        """Lines one below the other as one element; broken over pages where it must be."""
        with self.group(tag):
            self.flow(lines, lambda part: self._lines(part, indent))
        self.set_y(self.y + after)

    @contextmanager
    def text_leaf(self, kind: str, lines: Sequence[Line]) -> Iterator[None]:
        """An element for these lines, which are drawn meanwhile."""
        text = " ".join(line.strip() for line, _ in lines)
        with self.leaf(kind, actual=f"{text} " if right_to_left(text) else ""):
            yield

    def flow(self, lines: Sequence[Line], draw: Callable[[Sequence[Line]], None]) -> None:
        """Give `draw` as many lines at a time as a page has room for."""
        rest = list(lines)
        while rest:
            fitting = self._fitting(rest)
            if not fitting:
                self.new_page()
                continue
            draw(rest[:fitting])
            rest = rest[fitting:]

    def _fitting(self, lines: Sequence[Line]) -> int:
        height, count = 0.0, 0
        for _, style in lines:
            height += style.height
            if height > self.room + 0.01:
                break
            count += 1
        return count

    def _lines(self, lines: Sequence[Line], indent: float) -> None:
        with self.text_leaf("Span", lines):
            for text, style in lines:
                self.put(SIDE + indent, self.y, self.epw - indent, text, style)
                self.set_y(self.y + style.height)


def plain_text(text: str) -> str:
    """Text as the fonts can show it: without isolates, and a white box for letters they lack."""
    shown = text.replace(ISOLATE_START, "").replace(ISOLATE_END, "")
    known = _known_letters()
    return "".join(char if ord(char) in known else _stand_in(char) for char in shown)


def _stand_in(char: str) -> str:
    # Variation selectors and joiners only change how the letter before them looks.
    return "" if char in "\u200b\u200c\u200d\ufe0e\ufe0f" else "□"


@lru_cache(maxsize=1)
def _known_letters() -> frozenset[int]:
    """Code points that both weights of the font have."""
    found = []
    for name in ("DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf"):
        with (
            as_file(files("voicelog.papers.layout") / "fonts" / name) as path,
            TTFont(path, lazy=True) as font,
        ):
            found.append(frozenset(font.getBestCmap()))
    return found[0] & found[1]
