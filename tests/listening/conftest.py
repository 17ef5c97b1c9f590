"""Shared sound for the tests of this room."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def data() -> Path:
    """The folder of the recordings made by `make_recordings.py`."""
    return DATA


@pytest.fixture(scope="session")
def times() -> dict[str, list[list[float]]]:
    """Start and end, in seconds, of each spoken part of each recording."""
    loaded: dict[str, list[list[float]]] = json.loads((DATA / "times.json").read_text(encoding="utf-8"))
    return loaded
