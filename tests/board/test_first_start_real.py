"""The first start's parts on a real recording, a real card and a real settings file."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from voicelog.board.first_start.real import check_card, real_parts
from voicelog.cli.demo import load_day
from voicelog.errors import VoicelogError
from voicelog.listening import Recording
from voicelog.session.reports import FeedItem, Level, Partial, Progress


def test_recording_serves_as_microphone() -> None:
    day = load_day()
    phrases = ("new job", "new car")
    parts = real_parts(
        lambda choices: None,
        phrases,
        lambda: lambda sound: "new job",
        lambda name: Recording(day.recordings[0]),
    )
    seen: list[FeedItem] = []
    lines = parts.rehearse("", seen.append, threading.Event())
    assert lines[0] == "1 of 2 phrases heard exactly, 75% of the words"
    assert [item.what for item in seen if isinstance(item, Progress)] == ["new job", "new car", ""]
    assert [item.words for item in seen if isinstance(item, Partial)] == ["new job", "new job"]
    seen.clear()
    findings = parts.try_microphone("", seen.append, threading.Event())
    assert not any("no sound arrives" in line for line in findings)
    assert len([item for item in seen if isinstance(item, Level)]) == 60


def test_a_stopped_rehearsal_stops() -> None:
    day = load_day()
    parts = real_parts(
        lambda choices: None,
        ("new job",),
        lambda: lambda sound: "",
        lambda name: Recording(day.recordings[0]),
    )
    stop = threading.Event()
    stop.set()
    with pytest.raises(VoicelogError, match="stopped"):
        parts.rehearse("", lambda item: None, stop)


def test_cards(tmp_path: Path) -> None:
    assert "invented figures" in check_card("", "GB")
    assert "GBP" in check_card(str(load_day().folder / "rate-card.toml"), "GB")
    with pytest.raises(VoicelogError):
        check_card(str(tmp_path / "gone.toml"), "GB")
