"""Drafts and journals for the tests; all people, plates and prices are invented."""

from __future__ import annotations

import itertools
import shutil
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.clock import Clock
from voicelog.journal.store import Draft
from voicelog.meaning.note import SlotValue, Value


class SetClock(Clock):
    """A clock that stands where it is set and ticks a second at every look."""

    def __init__(self, start: datetime | None = None, tick_s: float = 1.0) -> None:
        self.time = start or datetime(2026, 6, 1, 8, 0, tzinfo=timezone(timedelta(hours=1)))
        self.tick = timedelta(seconds=tick_s)

    def now(self) -> datetime:
        self.time += self.tick
        return self.time


def slot(value: Value, words: str = "", *others: Value) -> SlotValue:
    return SlotValue(value, words, others)


def heard(number: int, words: str = "panel roof", clip: str | None = None, **slots: SlotValue) -> ev.Heard:
    """An accepted utterance."""
    return ev.Heard(
        utterance=number,
        source="typed",
        start_s=float(number),
        end_s=number + 1.25,
        words=words,
        confidence=0.97,
        decision="accepted",
        kind="damage",
        slots=slots,
        alternatives=({"words": f"{words} too", "confidence": 0.02},),
        answer=f"noted {words}",
        engine="typed",
        clip=clip,
    )


def open_job(log: Logbook, plate: str | None = None) -> str:
    """Open a job, with a plate where one is given; its id."""
    group = log.new_group()
    drafts = [Draft(heard(log.state.utterances + 1, "new job")), Draft(ev.JobOpened(len(log.state.jobs) + 1))]
    if plate is not None:
        drafts.append(Draft(ev.JobDescribed({"plate": slot(plate, "spelled")}), group))
    log.commit(drafts, group)
    return group


def note_dent(log: Logbook, job: str, dent: int, length: int = 45, **more: SlotValue) -> list[ev.Event]:
    """Open a dent and note its length, as one utterance."""
    number = log.state.utterances + 1
    derived = {"utterance": number}
    slots = {"panel": slot("roof", "roof"), "length_mm": slot(length, f"{length} mil"), **more}
    return log.commit(
        [
            Draft(heard(number, f"roof {length} mil", **slots), job),
            Draft(ev.DentOpened(dent), job, derived),
            Draft(ev.Noted(dent, slots), job, derived),
        ]
    )


def a_day(log: Logbook, jobs: int = 2, dents: int = 3) -> None:
    """Jobs with dents, a correction, a question, an undo, a quote and a finish."""
    for number in range(jobs):
        job = open_job(log, f"AB{number}2CDE")
        log.commit([Draft(ev.Timed("start"), job)])
        for dent in range(1, dents + 1):
            note_dent(log, job, dent, 40 + dent)
        log.commit([Draft(ev.Corrected(1, {"length_mm": slot(50, "fifty", 15)}), job)])
        question = log.new_group()
        log.commit(
            [Draft(ev.Asked(question, "length_mm", (50, 15), "five zero, or one five?", 1), job)], question
        )
        log.commit([Draft(ev.Answered(question, 50, "five zero"), job)])
        note_dent(log, job, dents + 1)
        undo(log)
        total = {"low": "123.45", "high": "150.00", "currency": "GBP"}
        log.commit(
            [
                Draft(
                    ev.Quoted(1, {"total": total, "lines": [{"text": "roof"}], "plate": f"AB{number}2CDE"}),
                    job,
                )
            ]
        )
        log.commit([Draft(ev.Finished(("reference",)), job)])


def image(path: Path, folder: Path) -> Path:
    """What a killed process leaves: the file and its write-ahead log, without a lock or an index."""
    folder.mkdir(parents=True)
    copy = folder / path.name
    for end in ("", "-wal"):
        part = path.with_name(path.name + end)
        if part.exists():
            shutil.copy(part, copy.with_name(copy.name + end))
    return copy


def numbers() -> Iterator[int]:
    return itertools.count(1)


def undo(log: Logbook) -> str | None:
    """Take back the last group that can be; its id, or None where there is none."""
    return _turn(log, ev.Undone)


def redo(log: Logbook) -> str | None:
    """Bring back the group undone last; its id, or None where there is none."""
    return _turn(log, ev.Redone)


def _turn(log: Logbook, body: type[ev.Undone] | type[ev.Redone]) -> str | None:
    with log.lock:
        log.refresh()
        stack = log.state.undoable if body is ev.Undone else log.state.redoable
        target = stack[-1] if stack else None
        if target is not None:
            log.commit([Draft(body(target))])
        return target
