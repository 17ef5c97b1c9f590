"""Devices that go their own ways, with forgettings among them, and come together in every order."""

from __future__ import annotations

import itertools
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.backup import backup, restore
from voicelog.journal.clips import Clips
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import SetClock, heard, note_dent, open_job, undo

np = pytest.importorskip("numpy")
DEVICES = ("phone", "tablet", "desk")


def speak(path: Path, log: Logbook, job: str, words: str) -> None:
    clip = Clips.beside(path).put(np.frombuffer(words.encode() * 40, "<i2").copy())
    log.commit([Draft(heard(log.state.utterances + 1, words, clip), job)])


@pytest.fixture(scope="module")
def devices(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """All begin with one job; the desk forgets it, the tablet works on and forgets one of its own."""
    root = tmp_path_factory.mktemp("devices")
    first = root / "phone" / "day.journal"
    with Logbook.open(first, clock=SetClock()) as log:
        shared = open_job(log, "FIRST1")
        note_dent(log, shared, 1)
        speak(first, log, shared, "FIRST1 again")
    places = {"phone": first}
    for name in DEVICES[1:]:
        places[name] = root / name / "day.journal"
        restore(first, places[name])
    for number, (name, path) in enumerate(places.items()):
        with Logbook.open(path, clock=SetClock()) as log:
            own = open_job(log, f"OWN{number}OF")
            speak(path, log, own, f"OWN{number}OF said")
            note_dent(log, shared, 10 + number)
            speak(path, log, shared, f"FIRST1 at the {name}")
            if name == "desk":
                log.forget([shared])
            if name == "tablet":
                undo(log)
                log.forget([own])
    return places


@pytest.fixture(scope="module")
def seen() -> dict[str, Any]:
    """What the first order gave."""
    return {}


@pytest.mark.parametrize("order", list(itertools.permutations(DEVICES)), ids="-".join)
@pytest.mark.parametrize("chain", [False, True], ids=["into one", "one into the next"])
def test_every_order_of_merging_gives_the_same(
    devices: dict[str, Path], seen: dict[str, Any], tmp_path: Path, order: tuple[str, ...], chain: bool
) -> None:
    copies = {}
    for name in order:
        copies[name] = tmp_path / name / "day.journal"
        backup(devices[name], copies[name])
    end = copies[order[-1] if chain else order[0]]
    steps = list(itertools.pairwise(order)) if chain else [(name, order[0]) for name in order[1:]]
    for source, target in steps:
        with Logbook.open(copies[target]) as log:
            log.merge(copies[source])
    report = verify(end, JobViews)
    assert report.problems == []
    with Logbook.open(end) as log:
        assert log.state == fold(log.events())
        plates = sorted(str(job.get("plate")) for job in log.state.jobs.values())
        assert plates == ["None", "None", "OWN0OF", "OWN2OF"]
        assert sum(len(job.dents) for job in log.state.jobs.values()) == 4 - 1
        rows = sorted((row.id, row.hash, row.salt) for row in log.store.rows())
    with sqlite3.connect(end) as database:
        text = "".join(database.iterdump())
    assert "FIRST1" not in text
    assert "OWN1OF" not in text
    assert len(list(Clips.beside(end).names())) == 2
    assert rows == seen.setdefault("rows", rows)
