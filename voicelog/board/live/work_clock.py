"""The work timer of the job in large figures, with the mark of its state."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from voicelog.board.widgets.big_text import BigText
from voicelog.jobs.records import Timer
from voicelog.meaning.wording import span

MARKS = {"running": "▶", "paused": "‖", "stopped": "■", "idle": ""}


class WorkClock(BigText):
    """Counts on by itself while the timer runs."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.short = False
        """Whether to leave the seconds out."""
        self._timer = Timer()
        self._now: Callable[[], datetime] = lambda: datetime.now().astimezone()

    def on_mount(self) -> None:
        """Count every second."""
        self.set_interval(1.0, self._paint)

    def follow(self, timer: Timer | None, now: Callable[[], datetime]) -> None:
        """Show another timer (None where there is no job), read against `now`."""
        self._timer, self._now = timer or Timer(), now
        self._paint()

    def _paint(self) -> None:
        if self._timer.state == "idle" and not self._timer.worked_s:
            self.show("")
            return
        text = span(self._timer.seconds(self._now()), "screen")
        mark = MARKS[self._timer.state]
        short = f"{mark} {text.rsplit(':', 1)[0]}"
        self.show(short) if self.short else self.show(f"{mark} {text}", short)
