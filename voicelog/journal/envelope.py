"""The envelope around what happened: its place in time and its origin."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from voicelog.journal.body import Body


@dataclass(frozen=True)
class Event:
    """One fact with its place in time and its origin."""

    id: str
    """Time-ordered unique id (UUID version 7, text form)."""
    group: str
    """Id shared by all events of one utterance or one action by hand."""
    at: str
    """Wall clock, ISO 8601 with offset, milliseconds."""
    order: int
    """Monotonic order within the device, from 1; never repeats, whatever the wall clock does."""
    device: str
    version: str
    """Version of voicelog that wrote it."""
    job: str | None
    """Id of the job it belongs to (the id of its JobOpened event's group); None where it belongs to none."""
    body: Body
    derived: Mapping[str, Any] = field(default_factory=dict)
    """What it was derived from, as in `{"utterance": 3}`."""

    @property
    def type(self) -> str:
        """The name of the body's type."""
        return self.body.TYPE
