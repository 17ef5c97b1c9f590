"""The microphone's level as a bar with a word, so that it reads without colour."""

from __future__ import annotations

from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget

from voicelog.session.reports import Level

FAINT_DBFS = -50.0
LOUD_DBFS = -6.0
_LOWEST_DBFS = -60.0
_EIGHTHS = " ▏▎▍▌▋▊▉"


def bar(share: float, width: int) -> str:
    """A bar of `width` columns filled to `share` (0 to 1), an eighth of a column fine."""
    eighths = round(min(1.0, max(0.0, share)) * width * 8)
    full, rest = divmod(eighths, 8)
    return ("█" * full + (_EIGHTHS[rest] if rest else "")).ljust(width)[:width]


def word_for(level: Level) -> str:
    """What the level means."""
    if level.clipped or level.dbfs > LOUD_DBFS:
        return "TOO LOUD"
    return "faint" if level.dbfs < FAINT_DBFS else "good"


class LevelMeter(Widget):
    """A bar from -60 to 0 dBFS; says nothing while no sound arrives."""

    DEFAULT_CSS = "LevelMeter { height: 1; width: 1fr; }"

    level: reactive[Level | None] = reactive(None)

    def render(self) -> Text:
        """The bar and its word."""
        if self.level is None:
            return Text("level –")
        word = word_for(self.level)
        width = max(4, self.content_size.width - 10)
        share = (self.level.dbfs - _LOWEST_DBFS) / -_LOWEST_DBFS
        return Text.assemble(
            ("▕" + bar(share, width) + "▏"), (word.ljust(8), "bold reverse" if word == "TOO LOUD" else "")
        )
