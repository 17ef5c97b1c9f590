"""The fold, event by event: what counts, what is taken back, what a field went through."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.jobs.fold import Ledger, fold
from voicelog.jobs.records import Dent, Job, State
from voicelog.journal import events as ev
from voicelog.journal.events import BODIES, Body
from voicelog.meaning.note import SlotValue, Value
from voicelog.vocabulary import DAMAGE_SLOTS

START = datetime.fromisoformat("2026-06-01T08:00:00.000+01:00")


class Day:
    """Events by hand, a minute apart."""

    def __init__(self) -> None:
        self.events: list[ev.Event] = []
        self.now = START

    def do(
        self, *bodies: Body, job: str | None = "j1", group: str = "", device: str = "one", minutes: float = 1
    ) -> str:
        """One group of events; its id."""
        self.now += timedelta(minutes=minutes)
        group = group or f"g{len(self.events) + 1}"
        for body in bodies:
            number = len(self.events) + 1
            event = ev.Event(
                id=f"e{number:04}", group=group, at=self.now.isoformat(timespec="milliseconds"),
                order=number, device=device, version="0", job=job, body=body, derived={"utterance": number},
            )  # fmt: skip
            self.events.append(event)
        return group

    def open(self, job: str = "j1", number: int = 1) -> str:
        return self.do(ev.JobOpened(number), job=job)

    @property
    def state(self) -> State:
        return fold(self.events)

    @property
    def job(self) -> Job:
        found = self.state.job
        assert found is not None
        return found

    def dent(self, number: int = 1) -> Dent:
        return self.job.dents[number]


@pytest.fixture
def day() -> Day:
    made = Day()
    made.open()
    return made


def slot(value: Value, *others: Value, words: str = "") -> SlotValue:
    return SlotValue(value, words, others)


def length(value: Value, *others: Value) -> dict[str, SlotValue]:
    return {"length_mm": slot(value, *others)}


def past(dent: Dent, name: str) -> list[tuple[Value | None, str, str]]:
    history = dent.fields[name].history if name in dent.fields else dent.cleared[name]
    return [(entry.value, entry.how, entry.by) for entry in history]


def test_a_field_keeps_every_value_it_had(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(45)))
    day.do(ev.Corrected(1, length(54)))
    day.do(ev.Cleared(1, "length_mm", by="hand"))
    assert "length_mm" not in day.dent().fields
    assert past(day.dent(), "length_mm")[-1] == (None, "cleared", "hand")
    day.do(ev.Noted(1, length(50, 15)))
    asked = day.do(ev.Asked("q1", "length_mm", (50, 15), "five zero?", 1))
    assert asked
    day.do(ev.Answered("q1", 15, "one five", by="hand"))
    assert past(day.dent(), "length_mm") == [
        (45, "heard", "voice"), (54, "corrected", "voice"), (None, "cleared", "hand"),
        (50, "heard", "voice"), (15, "answered", "hand"),
    ]  # fmt: skip
    assert day.dent().fields["length_mm"].confirmed


def test_a_copied_dent_says_where_its_values_come_from(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(45)))
    day.do(ev.DentOpened(2, copied_from=1), ev.Corrected(2, {"side": slot("right")}))
    assert past(day.dent(2), "length_mm") == [(45, "copied", "voice")]
    day.do(ev.Corrected(1, length(60)))
    assert day.dent(2).get("length_mm") == 45


def test_details_by_hand(day: Day) -> None:
    day.do(ev.JobDescribed({"plate": slot("AB12CDE")}))
    day.do(ev.JobDescribed({"plate": slot("AB12CDF"), "customer": slot("Ada Sample")}, by="hand"))
    details = day.job.details
    assert [(p.value, p.how, p.by) for p in details["plate"].history] == [
        ("AB12CDE", "heard", "voice"),
        ("AB12CDF", "corrected", "hand"),
    ]
    assert day.job.title == "Job 1 AB12CDF"


@pytest.mark.parametrize("order", ["asked last", "asked first"])
def test_a_question_belongs_to_the_value_of_its_utterance(day: Day, order: str) -> None:
    noted, asked = ev.Noted(1, length(50, 15)), ev.Asked("q", "length_mm", (50, 15), "?", 1)
    day.do(ev.DentOpened(1))
    day.do(*((noted, asked) if order == "asked last" else (asked, noted)))
    assert day.dent().fields["length_mm"].question == "q"
    assert list(day.job.questions) == ["q"]
    day.do(ev.Answered("q", 15))
    assert (day.dent().get("length_mm"), day.job.questions) == (15, {})


@pytest.mark.parametrize(
    "settled", [ev.Noted(1, length(40)), ev.Corrected(1, length(40)), ev.Cleared(1, "length_mm")]
)
def test_a_new_value_settles_the_question_about_the_old_one(day: Day, settled: Body) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(50, 15)), ev.Asked("q", "length_mm", (50, 15), "?", 1))
    day.do(ev.Asked("other", "width_mm", (5, 9), "?", 1))
    day.do(settled)
    assert list(day.job.questions) == ["other"]
    undone = replace(day.events[-1], id="e9999", group="u", body=ev.Undone(day.events[-1].group), job=None)
    assert list(fold([*day.events, undone]).jobs["j1"].questions) == ["q", "other"]


def test_an_answer_fills_a_slot_that_was_not_said_yet(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Asked("q", "side", ("left", "right"), "left or right?", 1))
    day.do(ev.Answered("q", "left", "left"))
    assert past(day.dent(), "side") == [("left", "answered", "voice")]
    day.do(ev.Asked("p", "plate", ("AB1", "AB7"), "?"))
    day.do(ev.Answered("p", "AB7"))
    assert day.job.get("plate") == "AB7"


def test_a_dropped_question_leaves_the_value_in_doubt(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(50, 15)), ev.Asked("q", "length_mm", (50, 15), "?", 1))
    day.do(ev.Answered("q", None, by="hand"))
    assert (day.dent().get("length_mm"), day.dent().unconfirmed) == (50, ["length_mm"])
    assert not day.job.questions


def test_a_question_about_a_reading_stays_with_that_reading(day: Day) -> None:
    day.do(ev.DentOpened(1))
    day.do(ev.Measured("dent", slot(150, 115), 1), ev.Asked("q", "paint_um", (150, 115), "?", 1))
    day.do(ev.Measured("dent", slot(142), 1))
    day.do(ev.Answered("q", 115))
    assert [reading.um.value for reading in day.dent().readings] == [115, 142]
    day.do(ev.Corrected(1, {"paint_um": slot(124)}))
    assert [reading.um.value for reading in day.dent().readings] == [115, 124]
    assert "paint_um" not in day.dent().fields


def test_questions_of_a_removed_dent_rest_with_it(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(50, 15)), ev.Asked("q", "length_mm", (50, 15), "?", 1))
    day.do(ev.DentRemoved(1))
    assert day.job.questions == {}
    assert list(day.job.listed()) == []
    day.do(ev.DentRestored(1))
    day.do(ev.Answered("q", 15))
    assert day.dent().get("length_mm") == 15


def test_undo_of_an_opening_and_redo(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(45)))
    before = day.state
    second = day.open("j2", 2)
    day.do(ev.DentOpened(1), job="j2")
    opened = day.state
    day.do(ev.Undone(second), job=None)
    assert (day.state.current, list(day.state.jobs)) == ("j1", ["j1"])
    assert day.state.jobs == before.jobs
    day.do(ev.Redone(second), job=None)
    assert (day.state.current, day.state.jobs) == ("j2", opened.jobs)


def test_undo_goes_back_to_the_job_that_was_selected(day: Day) -> None:
    day.open("j2", 2)
    day.do(ev.JobSelected(), job="j1")
    third = day.open("j3", 3)
    assert day.state.current == "j3"
    day.do(ev.Undone(third), job=None)
    assert day.state.current == "j1"


def test_jobs_stay_in_the_order_of_opening(day: Day) -> None:
    second = day.open("j2", 2)
    day.open("j3", 3)
    day.do(ev.Undone(second), job=None)
    assert list(day.state.jobs) == ["j1", "j3"]
    day.do(ev.Redone(second), job=None)
    assert list(day.state.jobs) == ["j1", "j2", "j3"]


def test_undo_takes_back_a_group_in_every_job_it_changed(day: Day) -> None:
    day.do(ev.Timed("start"))
    group = day.do(ev.Timed("stop"))
    day.do(ev.JobOpened(2), job="j2", group=group, minutes=0)
    assert (day.state.jobs["j1"].timer.state, day.state.current) == ("stopped", "j2")
    day.do(ev.Undone(group), job=None)
    assert (day.state.jobs["j1"].timer.state, list(day.state.jobs)) == ("running", ["j1"])


def test_a_new_change_ends_what_can_be_redone(day: Day) -> None:
    first = day.do(ev.DentOpened(1))
    day.do(ev.Undone(first), job=None)
    assert day.state.redoable == [first]
    day.do(ev.Heard(9, "typed", 0.0, 1.0, "price", 0.9, "accepted", "question"))
    assert day.state.redoable == [first]
    day.do(ev.DentOpened(1))
    assert day.state.redoable == []
    assert first not in day.state.undoable


def test_undo_that_is_repeated_or_unknown_changes_nothing(day: Day) -> None:
    group = day.do(ev.DentOpened(1))
    day.do(ev.Undone(group), job=None)
    once = day.state
    day.do(ev.Undone(group), job=None)
    day.do(ev.Undone("nothing"), job=None)
    day.do(ev.Redone("nothing"), job=None)
    assert day.state == once


def test_undo_out_of_order_of_groups_told_apart_by_devices(day: Day) -> None:
    """Joined journals bring undo and redo that are not on top of the stack."""
    first = day.do(ev.DentOpened(1), ev.Noted(1, length(45)))
    second = day.do(ev.Corrected(1, length(50)), device="two")
    day.do(ev.Undone(first), job=None)
    assert day.job.dents == {}
    assert day.state.undoable[-1] == second
    day.do(ev.DentOpened(7), device="two")
    day.do(ev.Redone(first), job=None)
    assert day.dent().get("length_mm") == 50
    assert day.state.undoable[1:3] == [first, second]


def test_a_number_given_on_two_devices(day: Day) -> None:
    day.do(ev.DentOpened(1), ev.Noted(1, length(45)))
    day.do(ev.DentOpened(1), ev.Noted(1, length(99)), device="two")
    day.do(ev.Corrected(1, {"width_mm": slot(10)}))
    day.do(ev.Corrected(1, {"width_mm": slot(20)}), device="two")
    assert [(d.number, d.get("length_mm"), d.get("width_mm")) for d in day.job.listed()] == [
        (1, 45, 10),
        (2, 99, 20),
    ]


def test_the_timer_gives_each_dent_its_share(day: Day) -> None:
    day.do(ev.DentOpened(1))
    day.do(ev.Timed("start", 1))
    day.do(ev.DentOpened(2), minutes=10)
    day.do(ev.DentSelected(1), minutes=5)
    day.do(ev.Timed("pause"), minutes=2)
    day.do(ev.Timed("resume", 2), minutes=30)
    day.do(ev.DentRemoved(2), minutes=3)
    day.do(ev.Finished(), minutes=4)
    assert day.job.timer.worked_s == (10 + 5 + 2 + 3) * 60 + 0 + 4 * 60
    assert day.dent(1).worked_s == (10 + 2) * 60
    assert day.dent(2).worked_s == (5 + 3 + 4) * 60
    assert day.job.timer.state == "stopped"


def test_removing_the_open_dent_turns_the_timer_to_the_one_before(day: Day) -> None:
    day.do(ev.DentOpened(1))
    day.do(ev.DentOpened(2))
    day.do(ev.Timed("start", 2))
    day.do(ev.DentRemoved(2), minutes=3)
    assert day.job.open_dent == 1
    day.do(ev.DentRestored(2), minutes=4)
    day.do(ev.Timed("stop"), minutes=5)
    assert (day.dent(1).worked_s, day.dent(2).worked_s) == (4 * 60, 8 * 60)


def test_a_clock_set_back_takes_no_work_away(day: Day) -> None:
    day.do(ev.Timed("start"))
    day.do(ev.Timed("pause"), minutes=10)
    day.do(ev.Timed("resume"))
    day.do(ev.Timed("stop"), minutes=-60)
    assert day.job.timer.worked_s == 600


def test_a_pause_of_what_does_not_run(day: Day) -> None:
    day.do(ev.Timed("pause"))
    assert day.job.timer.state == "idle"
    day.do(ev.Timed("start"))
    day.do(ev.Timed("stop"))
    day.do(ev.Timed("pause"))
    assert day.job.timer.state == "stopped"


def test_a_list_order_with_doubles_and_strangers(day: Day) -> None:
    for number in (1, 2, 3):
        day.do(ev.DentOpened(number))
    day.do(ev.DentsOrdered((3, 3, 9, 1)))
    assert day.job.order == [3, 1, 2]


VALUES = st.one_of(st.integers(0, 60), st.sampled_from(["steel", "left"]), st.just(("edge",)))
SLOT_VALUES = st.builds(SlotValue, VALUES, st.just("w"), st.lists(VALUES, max_size=1).map(tuple))
NAMES = st.sampled_from([*DAMAGE_SLOTS[:6], "paint_um", "plate", "step"])
PARTS: dict[str, st.SearchStrategy[Any]] = {
    "seconds": st.integers(0, 10**5),
    "dent": st.integers(1, 3), "copied_from": st.none() | st.integers(1, 3), "slot": NAMES,
    "slots": st.dictionaries(NAMES, SLOT_VALUES, max_size=2), "order": st.lists(st.integers(1, 4)).map(tuple),
    "um": SLOT_VALUES, "place": st.sampled_from(["dent", "reference"]),
    "question": st.sampled_from(["q", "r"]), "choices": st.just((1, 2)),
    "action": st.sampled_from(["start", "pause", "resume", "stop"]),
    "target": st.sampled_from(["g1", "g2", "g3", "g4", "g5"]), "value": st.none() | VALUES,
    "risks": st.just(("texture",)), "number": st.integers(1, 3), "version": st.integers(1, 2),
    "snapshot": st.just({"total": {"low": "1.00"}}), "accepted": st.booleans(), "awake": st.booleans(),
    "by": st.just("hand"), "percent": st.integers(0, 20), "gaps": st.just(()), "supplement_to": st.none(),
    "clip": st.none(), "words": st.just("w"), "amount": VALUES,
    "would": st.sampled_from([(), (({"type": "noted", "dent": 1, "slots": {}},), ({"type": "from later"},))]),
}  # fmt: skip
OTHER = st.sampled_from(["x", "y"])


def bodies() -> st.SearchStrategy[Body]:
    kinds = [kind for kind in BODIES.values() if kind is not ev.Heard]
    return st.sampled_from(kinds).flatmap(
        lambda kind: st.builds(kind, **{item.name: PARTS.get(item.name, OTHER) for item in fields(kind)})
    )


@settings(deadline=None, max_examples=150)
@given(
    st.lists(
        st.tuples(
            bodies(), st.sampled_from(["j1", "j2", None]), st.sampled_from(["g1", "g2", "g3", "g4", "g5"])
        ),
        max_size=30,
    )
)
def test_any_union_of_events_can_be_folded(drawn: list[tuple[Body, str | None, str]]) -> None:
    """Whatever comes: no exception, and a ledger that folds late and again agrees with one that does not."""
    day = Day()
    day.open()
    for body, job, group in drawn:
        day.do(body, job=job, group=group, device="one" if len(day.events) % 3 else "two")
    whole = fold(day.events)
    seen: list[ev.Event] = []
    late = Ledger(lambda job: [event for event in seen if event.job == job])
    for number, event in enumerate(day.events):
        seen.append(event)
        late.add(event)
        if number % 7 == 0:
            _ = [job.title for job in late.state.jobs.values()]
    assert late.state == whole
    undone = late.outline.undone
    counting = [
        e for e in day.events if e.group not in undone and not isinstance(e.body, ev.Undone | ev.Redone)
    ]
    assert fold(counting).jobs == whole.jobs
    assert fold(counting).current == whole.current
