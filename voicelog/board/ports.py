"""What the board needs from outside, as it sees it.  Tests give plain fakes."""

from __future__ import annotations

import threading
from collections.abc import Callable, Coroutine
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from voicelog.actions.change import Change, Context
from voicelog.board.heard_log import HeardLog
from voicelog.board.words import Wording
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.invoices import Office
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.meaning.note import Note
from voicelog.session.reports import Feed

Price = Callable[[Job], Estimate]
"""The estimate of a job by the card in force."""


Work = Callable[[Feed, threading.Event], Any]
"""A long piece of work: reports `Progress`, looks at the event, gives its result."""


@dataclass(frozen=True)
class Desk:
    """What the review desk can have done; None where it is not there."""

    papers: Callable[[Job], Work] | None = None
    """Writes the papers of a job; the work's result is the list of their paths."""
    clip: Callable[[str], Path] | None = None
    """The sound file of a clip by its hash; raises `VoicelogError` where it is gone."""
    play: Callable[[Path], None] | None = None
    """Plays a sound file to its end; None uses sounddevice."""
    office: Office = field(default_factory=Office)
    """What the settings say about invoices."""
    closes_clock: bool = False
    """As in `Context`."""
    understand: Callable[[str], Note] = lambda words: Note("none", words=words)
    """The note that other words for an utterance would be."""


class Board(Protocol):
    """The application as its screens see it."""

    logbook: Logbook
    settings: BoardSettings
    desk: Desk
    heards: HeardLog
    price_list: Price | None

    def context(self, job: str | None = None) -> Context:
        """What a change may see."""

    def commit(self, change: Change) -> bool:
        """Write a change made by hand and show it; True where something was written."""

    def start_work(self, work: Callable[[], Any], name: str) -> object:
        """Run work in a thread of its own."""

    def start_task(self, task: Coroutine[Any, Any, Any], name: str) -> object:
        """Run something that waits for a dialog."""


@dataclass(frozen=True)
class BoardSettings:
    """How the board shows things."""

    wording: Wording = field(default_factory=Wording)
    large_type: bool = False
    light: bool = False
    now: Callable[[], datetime] = lambda: datetime.now().astimezone()
    """The clock."""
