"""A logbook on disk with an invented day in it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from voicelog.jobs.logbook import Logbook

from .making import SetClock, a_day


@pytest.fixture
def clock() -> SetClock:
    return SetClock()


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "logs" / "day.journal"


@pytest.fixture
def log(path: Path, clock: SetClock) -> Iterator[Logbook]:
    """Open for writing, with two jobs."""
    with Logbook.open(path, clock=clock) as opened:
        a_day(opened)
        yield opened
