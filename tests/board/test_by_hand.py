"""What is done by hand, as events: pure functions held against the fold."""

from __future__ import annotations

import pytest

from voicelog.actions import by_hand
from voicelog.journal import events as ev
from voicelog.journal.store import Draft

from .bench_clock import BenchLog
from .day import held, new_job, whole_day


def test_trial_changes_nothing() -> None:
    log = whole_day()
    job = log.state.job
    assert job is not None
    before = log.state.jobs[job.id].dents[3].values()
    tried = by_hand.trial(job, by_hand.set_slots(job, job.dents[3], {"length_mm": 99}))
    assert tried.dents[3].get("length_mm") == 99
    assert job.dents[3].values() == before
    assert log.state.utterances == 17


def test_equal_value_is_no_change_but_settles_a_doubt() -> None:
    job = whole_day().state.job
    assert job is not None
    assert by_hand.set_slots(job, job.dents[3], {"length_mm": 45}) == []
    settled = by_hand.set_slots(job, job.dents[2], {"length_mm": 50})
    assert by_hand.trial(job, settled).dents[2].unconfirmed == []


def test_filled_and_corrected_slots_are_told_apart() -> None:
    job = whole_day().state.job
    assert job is not None
    drafts = by_hand.set_slots(job, job.dents[3], {"method": "push", "depth": "deep"})
    assert [type(draft.body) for draft in drafts] == [ev.Noted, ev.Corrected]
    assert all(draft.body.by == "hand" for draft in drafts)  # type: ignore[attr-defined]


@pytest.mark.parametrize("stay", [0, 22, 23, -1])
def test_a_split_leaves_dents_on_both_sides(stay: int) -> None:
    job = whole_day().state.job
    assert job is not None
    assert by_hand.split(job, job.dents[1], stay) == []


def test_merge_unites_lists_and_carries_readings_steps_and_risks() -> None:
    log = BenchLog()
    new_job(log, 1, "XX21ABC")
    job_id = log.state.current
    log.commit([
        Draft(ev.DentOpened(1), job_id), Draft(ev.Noted(1, {"features": held(("edge",))}), job_id),
        Draft(ev.DentOpened(2), job_id), Draft(ev.Noted(2, {"features": held(("body-line",))}), job_id),
        Draft(ev.Measured("dent", held(142), 2), job_id), Draft(ev.RiskNoted(("texture",), 2), job_id),
        Draft(ev.Stepped({"step": held("warm")}, 2), job_id),
    ])  # fmt: skip
    job = log.state.job
    assert job is not None
    log.commit(by_hand.merge(job, job.dents[1], job.dents[2]))
    job = log.state.job
    assert job is not None
    kept = job.dents[1]
    assert kept.get("features") == ("body-line", "edge")
    assert [reading.um.value for reading in kept.readings] == [142]
    assert [step.step for step in kept.steps] == ["warm"]
    assert kept.risks == ["texture"]
    assert job.dents[2].removed


def test_moves_stop_at_the_ends() -> None:
    job = whole_day().state.job
    assert job is not None
    assert by_hand.move(job, job.dents[1], -1) == []
    assert by_hand.move(job, job.dents[3], 1) == []
    (draft,) = by_hand.move(job, job.dents[3], -5)
    assert draft.body == ev.DentsOrdered((3, 1, 2))


def test_told_names_each_risk_once() -> None:
    log = whole_day()
    job = log.state.job
    assert job is not None
    assert by_hand.tell(job) == []
    log.commit(
        [Draft(ev.RiskNoted(("texture", "high-spots"), 3), job.id), Draft(ev.RiskNoted(("texture",)), job.id)]
    )
    (draft,) = by_hand.tell(log.state.jobs[job.id])
    assert draft.body == ev.Told(("texture", "high-spots"))
    log.commit([draft])
    assert by_hand.tell(log.state.jobs[job.id]) == []


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"panel": "roof", "side": "left"}, "no left and right"),
        ({"panel": "door", "side": "left"}, "front or rear"),
        ({"panel": "door", "end": "rear"}, "left or right"),
        ({"side": "left"}, "needs a panel"),
        ({"panel": "door", "end": "rear", "side": "left"}, ""),
        ({"panel": "bonnet"}, ""),
    ],
)
def test_places(values: dict[str, str], said: str) -> None:
    assert said in by_hand.misplaced(values)
    assert bool(said) == bool(by_hand.misplaced(values))
