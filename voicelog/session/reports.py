"""What the running session reports while it listens: plain frozen records.

The session calls a `Feed` from its own thread; whoever shows the records (the
board, a log, a test) takes them over into its own thread.  Nothing here knows
of a screen.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from voicelog.journal.events import Heard
from voicelog.vocabulary import Decision

Ear = Literal["listening", "asleep", "lost", "off"]
"""listening: words are taken down; asleep: only the wake words are; lost: the device is gone;
off: nothing listens (no device chosen, or the board shows a journal only)."""


@dataclass(frozen=True)
class Partial:
    """Words of the utterance being spoken, as far as heard; replaces the Partial before."""

    words: str


@dataclass(frozen=True)
class Level:
    """Sound level of the last 100 ms; replaces the Level before."""

    dbfs: float
    """Root mean square in dB below full scale, -120 to 0."""
    clipped: bool = False


@dataclass(frozen=True)
class Utterance:
    """An utterance is in the journal; sent after its commit."""

    heard: Heard
    answer: str
    """What is said back."""
    decision: Decision


@dataclass(frozen=True)
class EarChanged:
    """The ear opened, fell asleep, or lost its device."""

    state: Ear
    device: str = ""
    """Name of the microphone or of the recording."""
    engine: str = ""
    """Name and version of the engine."""


@dataclass(frozen=True)
class Trouble:
    """Something failed and the session goes on; one line that says what to do."""

    text: str


@dataclass(frozen=True)
class Caution:
    """A caution is due; it stays in sight until it is acknowledged."""

    id: str
    text: str


@dataclass(frozen=True)
class Progress:
    """How far a long piece of work is; `total` 0 while that is not known."""

    done: float
    total: float
    what: str = ""


@dataclass(frozen=True)
class Ended:
    """The source is at its end, or the session was stopped: nothing more will come."""


FeedItem = Partial | Level | Utterance | EarChanged | Trouble | Caution | Progress | Ended
Feed = Callable[[FeedItem], None]
Run = Callable[[Feed, threading.Event], None]
"""A session: reports to the feed and returns soon (within 0.2 s) after the event is set."""
