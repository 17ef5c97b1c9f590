"""The logbook: what the session, the board and the papers see of a journal."""

from __future__ import annotations

import threading
from dataclasses import fields
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal.events import BODIES, Body
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify
from voicelog.meaning.note import SlotValue
from voicelog.visible import visible

from .making import a_day, heard, note_dent, open_job, redo, slot, undo


def test_a_commit_is_one_group_in_order(log: Logbook) -> None:
    group = log.new_group()
    events = log.commit([Draft(heard(90)), Draft(ev.JobOpened(3)), Draft(ev.JobSelected(), group)], group)
    assert {event.group for event in events} == {group}
    assert [event.id for event in events] == sorted(event.id for event in events)
    assert group < events[0].id
    assert events[1].job == group == log.state.current
    assert [event.order for event in events] == list(range(events[0].order, events[0].order + 3))
    assert events[0].at.endswith("+01:00")
    assert list(log.events())[-3:] == events


def test_state_is_the_fold(log: Logbook, path: Path) -> None:
    assert log.state == fold(log.events())
    with Logbook.in_memory() as other:
        a_day(other)
        assert other.state == fold(other.events())
    with Logbook.open(path, writer=False) as reader:
        assert reader.state == log.state
        assert reader.refresh() == 0


def test_a_long_journal_is_not_folded_on_opening(log: Logbook, path: Path) -> None:
    log.close()
    with Logbook.open(path) as again:
        jobs: Any = again.state.jobs
        assert len(jobs) == 2
        assert [jobs.loaded(key) for key in jobs] == [None, None]
        assert again.state.job is not None
        assert [jobs.loaded(key) is None for key in jobs] == [True, False]


def test_memory_does_not_grow_with_the_jobs(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("voicelog.jobs.sqlite_views._AT_HAND", 2)
    with Logbook.open(path) as log:
        first = open_job(log)
        a_day(log, jobs=6)
        jobs: Any = log.state.jobs
        assert sum(jobs.loaded(key) is not None for key in jobs) == 2
        log.commit([Draft(ev.JobSelected(), first)])
        note_dent(log, first, 1)
        note_dent(log, first, 2)
        assert jobs.loaded(first) is log.state.job
        assert log.state == fold(log.events())
    assert verify(path, JobViews).ok


def test_numbers_and_dates_without_folding(log: Logbook, path: Path) -> None:
    undo(log)
    with Logbook.open(path, writer=False) as reader:
        jobs: Any = reader.state.jobs
        found = [(key, known.number, known.opened_at) for key, known in reader.state.opened.items()]
        assert all(jobs.loaded(key) is None for key in jobs)
        assert found == [(job.id, job.number, job.opened_at) for job in jobs.values()]


def test_damaged_views_are_made_anew(log: Logbook, path: Path) -> None:
    state = log.state
    log.store.connection.execute("DROP TABLE view_jobs")
    with Logbook.open(path, writer=False) as reader:
        assert reader.state == state
    log.close()
    with Logbook.open(path) as again:
        assert again.state == state
    assert verify(path, JobViews).ok


def test_what_is_behind_a_value(log: Logbook) -> None:
    job = str(log.state.current)
    note_dent(log, job, 20, 45)
    log.commit([Draft(ev.Corrected(20, {"length_mm": slot(54)}, by="hand"), job)])
    history = log.state.jobs[job].dents[20].fields["length_mm"].history
    origin = log.origin(history[0])
    assert origin is not None
    assert origin.body.words == "roof 45 mil"  # type: ignore[attr-defined]
    assert origin.body.alternatives == ({"words": "roof 45 mil too", "confidence": 0.02},)  # type: ignore[attr-defined]
    assert history[0].utterance == origin.body.utterance  # type: ignore[attr-defined]
    assert (history[1].by, log.origin(history[1])) == ("hand", None)


def test_utterances_that_wait_for_the_disk_are_seen(log: Logbook) -> None:
    job, beside = str(log.state.current), log.beside()
    log.store.connection.execute("PRAGMA query_only = ON")
    note_dent(log, job, 20)
    assert log.pending == 1
    beside.refresh()
    assert beside.heards()[-1] == log.heards()[-1]
    assert 20 in beside.state.jobs[job].dents
    late = log.beside()
    assert late.state == beside.state == log.state
    past = log.state.jobs[job].dents[20].fields["panel"].history[0]
    assert log.origin(past) == log.heards()[-1]
    log.store.connection.execute("PRAGMA query_only = OFF")
    assert log.retry()
    beside.refresh()
    assert beside.state == log.state


def test_the_board_and_the_session_at_once(log: Logbook, path: Path) -> None:
    """Two threads, each with a logbook of its own, one journal."""
    job, board = open_job(log), log.beside()
    problems: list[BaseException] = []

    def correct() -> None:
        try:
            for number in range(60):
                board.refresh()
                dents = list(board.state.jobs[job].dents) if job in board.state.jobs else []
                if dents:
                    board.commit(
                        [Draft(ev.Corrected(dents[-1], {"width_mm": slot(number + 1)}, by="hand"), job)]
                    )
                    if number % 5 == 0:
                        undo(board)
        except BaseException as error:
            problems.append(error)

    thread = threading.Thread(target=correct)
    thread.start()
    for dent in range(1, 61):
        with log.lock:
            note_dent(log, job, dent)
    thread.join()
    board.refresh()
    assert problems == []
    assert board.state == log.state == fold(log.events())
    assert verify(path, JobViews).ok
    board.close()
    note_dent(log, job, 70)


def test_undo_and_redo_of_nothing() -> None:
    with Logbook.in_memory() as log:
        assert undo(log) is None
        assert redo(log) is None
        log.commit([Draft(heard(1)), Draft(ev.Cautioned("heat"))])
        assert undo(log) is None


def test_an_answer_about_the_plate_is_personal(log: Logbook) -> None:
    """The session does not say what the question was about; the logbook looks it up."""
    job = open_job(log)
    log.commit([Draft(ev.Asked("q", "plate", ("AB12CDE", "AB12CDT"), "?"), job)])
    log.commit([Draft(ev.Answered("q", "AB12CDT", "tango"), job)])
    (row,) = log.store.rows("e.type = 'answered' AND e.job = ?", [job])
    assert "AB12CDT" not in row.body
    assert log.state.jobs[job].get("plate") == "AB12CDT"


def test_the_journal_grows_by_nothing_when_nothing_is_said(log: Logbook) -> None:
    before = log.store.position
    assert log.commit([]) == []
    assert log.store.position == before


TEXT = st.text(max_size=12).map(visible)  # control characters become marks as they are written
NUMBERS = st.integers(-5, 10_000) | st.decimals(0, 500, places=2).map(
    lambda number: int(number) if number == number.to_integral_value() else number.normalize()
)
VALUES = NUMBERS | TEXT | st.booleans() | st.lists(TEXT, max_size=3).map(tuple)
SLOTS = st.builds(SlotValue, VALUES, TEXT, st.lists(VALUES, max_size=2).map(tuple), TEXT, st.booleans())
JSON = st.dictionaries(
    TEXT, TEXT | st.integers() | st.floats(allow_nan=False, allow_infinity=False), max_size=3
)
BY_TYPE: dict[str, st.SearchStrategy[Any]] = {
    "int": st.integers(0, 10**6), "float": st.floats(0, 1e5), "str": TEXT, "bool": st.booleans(),
    "str | None": st.none() | TEXT, "int | None": st.none() | st.integers(0, 99), "SlotValue": SLOTS,
    "Value": VALUES, "Value | None": st.none() | VALUES, "By": st.sampled_from(["voice", "hand"]),
    "Mapping[str, SlotValue]": st.dictionaries(TEXT, SLOTS, max_size=3), "Mapping[str, Any]": JSON,
    "tuple[str, ...]": st.lists(TEXT, max_size=3).map(tuple),
    "tuple[int, ...]": st.lists(st.integers(0, 99), max_size=3).map(tuple),
    "tuple[Value, ...]": st.lists(VALUES, max_size=3).map(tuple),
    "tuple[Mapping[str, Any], ...]": st.lists(JSON, max_size=2).map(tuple),
    "tuple[tuple[Mapping[str, Any], ...], ...]": st.lists(st.lists(JSON, max_size=2).map(tuple)).map(tuple),
    "Decision": st.just("accepted"), "Kind": st.just("damage"),
    "Literal['dent', 'reference']": st.sampled_from(["dent", "reference"]),
}  # fmt: skip


@st.composite
def bodies(draw: st.DrawFn) -> Body:
    kind = draw(st.sampled_from(sorted(BODIES.values(), key=lambda found: found.TYPE)))
    return kind(**{item.name: draw(BY_TYPE[str(item.type)]) for item in fields(kind)})


@settings(deadline=None, max_examples=120)
@given(st.lists(bodies(), min_size=1, max_size=6))
def test_every_body_comes_back_as_it_went_in(drawn: list[Body]) -> None:
    with Logbook.in_memory() as log:
        committed = log.store.commit([Draft(body, "j") for body in drawn])
        assert [event.body for event in committed] == drawn
        assert list(log.events()) == committed
        for body, event in zip(drawn, log.events(), strict=True):
            for item in fields(body):
                assert type(getattr(event.body, item.name)) is type(getattr(body, item.name))


def test_decimals_come_back_as_decimals(log: Logbook) -> None:
    event = log.commit([Draft(ev.Discounted(Decimal("2.50")), str(log.state.current))])[0]
    assert event.body == ev.Discounted(Decimal("2.5"))
    assert list(log.events())[-1] == event


@pytest.mark.parametrize("place", ["view_dents", "view_jobs", "view_groups", "view_quotes", "view_journal"])
def test_views_are_ordinary_tables(log: Logbook, place: str) -> None:
    assert log.store.connection.execute(f"SELECT count(*) FROM {place}").fetchone()[0] > 0
