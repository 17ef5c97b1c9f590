"""A line of large letters that takes the largest size for which there is room."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from rich.text import Text
from textual.geometry import Size
from textual.reactive import reactive
from textual.widget import Widget

from voicelog.board.widgets.letters import SCALES, can_draw, columns_of, draw, rows_at


class BigText(Widget):
    """Shows the first of its texts that fits, as large as fits; plain bold text where none does."""

    DEFAULT_CSS = "BigText { height: auto; width: 1fr; text-style: bold; }"

    texts: reactive[tuple[str, ...]] = reactive(())
    """The same thing said ever shorter."""
    tallest: reactive[int] = reactive(1, layout=True)
    """The largest scale allowed (see `letters.SCALES`)."""

    most_lines: reactive[int] = reactive(1, layout=True)
    """How many lines the text may be broken into to be drawn larger: 1 or 2."""

    largest_first: reactive[bool] = reactive(False, layout=True)
    """Whether a shorter text in larger letters goes before a longer one."""

    def __init__(self, *texts: str, name: str | None = None, id: str | None = None) -> None:  # noqa: A002
        super().__init__(name=name, id=id)
        self.set_reactive(BigText.texts, texts)

    def show(self, *texts: str) -> None:
        """Show other texts."""
        self.texts = texts

    def watch_texts(self, old: tuple[str, ...], new: tuple[str, ...]) -> None:
        """Lay the screen out again only where the new text takes other room: a clock changes every second."""
        width = self.content_size.width
        before, after = (self._room(texts, width) for texts in (old, new))
        self.refresh(layout=before != after)

    def _room(self, texts: tuple[str, ...], width: int) -> tuple[int, int]:
        lines, scale = self._fit(texts, width)
        widest = max((columns_of(line, scale) if scale else len(line) for line in lines), default=0)
        return widest, len(lines) * (rows_at(scale) if scale else 1)

    def fitting(self, width: int) -> tuple[tuple[str, ...], int]:
        """The lines that are shown in `width` columns and their scale; scale 0 is plain text."""
        return self._fit(self.texts, width)

    def _fit(self, given: tuple[str, ...], width: int) -> tuple[tuple[str, ...], int]:
        scales = [scale for scale in SCALES if scale <= self.tallest]
        texts = [text for text in given if can_draw(text)]
        pairs = product(scales, texts) if self.largest_first else ((s, t) for t, s in product(texts, scales))
        for scale, text in pairs:
            for lines in broken(text, self.most_lines):
                if max(columns_of(line, scale) for line in lines) <= width:
                    return lines, scale
        plain = next((text for text in given if len(text) <= width), given[-1] if given else "")
        return (plain,), 0

    def get_content_width(self, container: Size, viewport: Size) -> int:
        """Columns of the text at its scale."""
        lines, scale = self.fitting(container.width)
        return max((columns_of(line, scale) if scale else len(line) for line in lines), default=0)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Rows of the text at its scale."""
        lines, scale = self.fitting(width)
        return max(1, len(lines) * (rows_at(scale) if scale else 1)) if any(lines) else 1

    def render(self) -> Text:
        """The letters."""
        lines, scale = self.fitting(self.content_size.width)
        if not scale:
            return Text(" ".join(lines), no_wrap=True, overflow="ellipsis")
        rows = [row for line in lines for row in draw(line, scale)]
        return Text("\n".join(rows), no_wrap=True, overflow="crop")


def broken(text: str, most: int) -> Iterator[tuple[str, ...]]:
    """The text in one line, then in two as even as its spaces allow."""
    yield (text,)
    words = text.split()
    if most > 1 and len(words) > 1:
        cuts = ((" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words)))
        yield min(cuts, key=lambda lines: max(columns_of(line) for line in lines))
