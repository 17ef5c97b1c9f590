"""How a command ends when it is told to: what was said is brought to safety first."""

from __future__ import annotations

import signal
from types import FrameType
from typing import Final

NAMES: Final = ("SIGTERM", "SIGHUP", "SIGBREAK")
"""Told to end, the terminal was closed, the window was closed (Windows); not all systems have all."""


class EndedError(BaseException):
    """The process was told to end; unwinds like Ctrl-C, so that every journal is closed."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.status = 128 + number


def unwind_on_signals() -> None:
    """Have the signals that end a process unwind it instead; a second one changes nothing."""
    for number in _numbers():
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _end)


def _numbers() -> list[int]:
    return [getattr(signal, name) for name in NAMES if hasattr(signal, name)]


def _end(number: int, frame: FrameType | None) -> None:
    for other in _numbers():
        signal.signal(other, signal.SIG_IGN)
    raise EndedError(number)
