"""Events from elsewhere with right hashes and wrong contents: refused, or harmless to all that follows."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest

from tests.journal.bench_import import mutated, rehashed, try_all
from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.json_lines import line_of

from .making import open_job

BAD: list[tuple[str, dict[str, Any]]] = [
    ("noted", {"id": "ffffffff-ffff-7fff-bfff-ffffffffffff"}),
    ("noted", {"id": "019e81fb-7568-40f3-9b01-d02a03f613ab"}),
    ("noted", {"order": 2**63}),
    ("noted", {"order": -1}),
    ("noted", {"job": "one two"}),
    ("noted", {"at": "2026-01-01"}),
    ("noted", {"body": {"dent": "1", "slots": {}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {"length_mm": {"value": "long"}}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {"length_mm": {"value": float("inf")}}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {"panel": {"value": "boot"}}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {"panel": {"value": ["door"]}}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {}, "by": "wind"}}),
    ("noted", {"body": {"dent": 10**9, "slots": {}, "by": "voice"}}),
    ("noted", {"type": "discounted", "body": {"percent": "2026-01-01", "by": "voice"}}),
    ("noted", {"type": "discounted", "body": {"percent": 101, "by": "voice"}}),
    ("noted", {"type": "timed", "body": {"action": "sleep", "dent": None}}),
    ("noted", {"type": "day-closed", "body": {"date": "yesterday"}}),
    ("noted", {"derived": {"utterance": "three"}}),
    ("noted", {"derived": {"utterance": 1, "deep": [[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]}}),
    ("noted", {"body": {"dent": 1, "slots": {"place": {"value": "\x1b]52;c;eA==\x07"}}, "by": "voice"}}),
    ("noted", {"body": {"dent": 1, "slots": {"place": {"value": "\x9b2J"}}, "by": "voice"}}),
    ("heard", {"apart": None, "salt": None}),
    ("heard", {"body": {"clip": "../../etc/passwd"}}),
    ("quoted", {"body": {"version": 1, "snapshot": {"total": {"low": "1e999"}}, "supplement_to": None}}),
    ("quoted", {"body": {"version": 1, "snapshot": {"total": {"currency": {}}}, "supplement_to": None}}),
]


@pytest.mark.parametrize(("kind", "change"), BAD, ids=lambda value: str(value)[:60])
def test_wrong_contents_are_refused_and_named(
    log: Logbook, tmp_path: Path, kind: str, change: dict[str, Any]
) -> None:
    lines = [line_of({**row.__dict__}) for row in log.store.rows()]
    place = next(place for place, line in enumerate(lines) if line["type"] == kind)
    new = dict(lines[place])
    for name, value in change.items():
        new[name] = {**new[name], **value} if (kind, name) == ("heard", "body") else value
    lines[place] = new
    with Logbook.open(tmp_path / "copy.db") as copy:
        with pytest.raises(VoicelogError) as caught:
            copy.take_in(rehashed(lines), "day.jsonl")
        assert caught.value.where == "day.jsonl"
        if "apart" not in change:
            assert f"event {place + 1} (" in caught.value.what
        assert list(copy.events()) == []
        open_job(copy)
        assert copy.trouble is None


def test_the_same_lines_unchanged_are_taken(log: Logbook, tmp_path: Path) -> None:
    lines = [line_of({**row.__dict__}) for row in log.store.rows()]
    with Logbook.open(tmp_path / "copy.db") as copy:
        assert copy.take_in(rehashed(lines)).new == len(lines)
        assert copy.state == log.state


def test_nothing_that_is_taken_in_breaks_what_follows(log: Logbook, tmp_path: Path) -> None:
    lines = [line_of({**row.__dict__}) for row in log.store.rows()]
    chance = random.Random(11)
    found = try_all((mutated(lines, chance) for _ in range(60)), tmp_path)
    assert found.broke == []
    assert found.refused > 15
    assert found.taken > 5


def test_the_names_of_the_types_never_change() -> None:
    """They are made of the names of classes and stand in every journal: a class renamed loses events."""
    assert sorted(ev.BODIES) == [
        "answered", "asked", "cautioned", "cleared", "corrected", "day-closed", "dent-opened",
        "dent-removed", "dent-restored", "dent-selected", "dents-ordered", "discounted", "extra-added",
        "extra-removed", "finished", "forgotten", "heard", "invoiced", "job-described", "job-opened",
        "job-selected", "joined", "listening-changed", "measured", "memo-kept", "noted", "paid",
        "photo-marked", "priced-by-hand", "quote-settled", "quoted", "redone", "remeasured", "risk-noted",
        "salvaged", "stepped", "struck", "time-corrected", "timed", "told", "understood", "undone",
    ]  # fmt: skip
