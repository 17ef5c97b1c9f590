"""A line of large letters that takes the largest size for which there is room."""

from __future__ import annotations

from rich.text import Text
from textual.geometry import Size
from textual.reactive import reactive
from textual.widget import Widget

from voicelog.board.letters import SCALES, can_draw, columns_of, draw, rows_at


class BigText(Widget):
    """Shows the first of its texts that fits, as large as fits; plain bold text where none does."""

    DEFAULT_CSS = "BigText { height: auto; width: 1fr; text-style: bold; }"

    texts: reactive[tuple[str, ...]] = reactive((), layout=True)
    """The same thing said ever shorter."""
    tallest: reactive[int] = reactive(1, layout=True)
    """The largest scale allowed (see `letters.SCALES`)."""

    def __init__(self, *texts: str, name: str | None = None, id: str | None = None) -> None:  # noqa: A002
        super().__init__(name=name, id=id)
        self.set_reactive(BigText.texts, texts)

    def show(self, *texts: str) -> None:
        """Show other texts."""
        self.texts = texts

    def fitting(self, width: int) -> tuple[str, int]:
        """The text that is shown in `width` columns and its scale; scale 0 is plain text."""
        for text in self.texts:
            for scale in SCALES:
                if scale <= self.tallest and can_draw(text) and columns_of(text, scale) <= width:
                    return text, scale
        return (self.texts[-1] if self.texts else ""), 0

    def get_content_width(self, container: Size, viewport: Size) -> int:
        """Columns of the text at its scale."""
        text, scale = self.fitting(container.width)
        return columns_of(text, scale) if scale and text else len(text)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Rows of the text at its scale."""
        text, scale = self.fitting(width)
        return rows_at(scale) if scale and text else 1

    def render(self) -> Text:
        """The letters."""
        text, scale = self.fitting(self.content_size.width)
        if not scale or not text:
            return Text(text, no_wrap=True, overflow="ellipsis")
        return Text("\n".join(draw(text, scale)), no_wrap=True, overflow="crop")
