"""Long pieces of work on a journal: how they tell how far they are, and how they are stopped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from voicelog.errors import VoicelogError

Progress = Callable[[int, int], None]
"""Called with (done, total); total is 0 while it is not known."""
Cancelled = Callable[[], bool]
"""True as soon as the work is to stop."""


class StoppedError(VoicelogError):
    """The work was stopped on request; nothing half-done is left behind."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} was stopped")


@dataclass(frozen=True)
class Watch:
    """Tells how far a piece of work is, and ends it when asked to."""

    what: str
    """Name of the work, "verify"."""
    progress: Progress = lambda done, total: None
    cancelled: Cancelled = lambda: False

    def at(self, done: int, total: int = 0) -> None:
        """Report; raises `StoppedError` when the work is to stop."""
        if self.cancelled():
            raise StoppedError(self.what)
        self.progress(done, total)
