"""What is done with dents by hand only, and what an action may be tried out on."""

from __future__ import annotations

import pytest

from tests.actions.conftest import Talk
from tests.board.day import held
from voicelog.actions.change import Context
from voicelog.actions.dents import merge_dents, move_dent, reassign_dent, split_dent
from voicelog.actions.slots import hand_over, set_slots
from voicelog.board.review.typed import misplaced
from voicelog.journal import events as ev

HAIL = "roof steel twenty two dents ten mil shallow open access push"


def test_trying_a_change_out_changes_nothing(talk: Talk) -> None:
    talk.say("roof ten mil")
    context = talk.context()
    tried = context.after(set_slots(context, 1, {"length_mm": held(99)})).job
    assert tried is not None
    assert tried.dents[1].get("length_mm") == 99
    assert talk.job.dents[1].get("length_mm") == 10


def test_a_value_in_doubt_written_again_is_settled(talk: Talk) -> None:
    talk.say("roof ten mil", "fifty mil")
    assert talk.job.dents[1].unconfirmed == ["length_mm"]
    talk.hand(lambda c: set_slots(c, 1, {"length_mm": held(10)}))
    assert talk.job.dents[1].unconfirmed == []
    assert not talk.job.questions


def test_a_size_beyond_reason_typed_at_the_desk_makes_the_total_a_range(talk: Talk) -> None:
    talk.say("left a pillar steel ten mil shallow open access push")
    change = talk.hand(lambda c: set_slots(c, 1, {"length_mm": held(900)}))
    assert change.question == "length nine hundred, nine zero zero mil: is that right?"
    assert not talk.estimate.confirmed


def test_filled_and_corrected_slots_are_told_apart(talk: Talk) -> None:
    talk.say("roof ten mil")
    change = talk.hand(lambda c: set_slots(c, 1, {"method": held("push"), "length_mm": held(12)}))
    assert [type(draft.body) for draft in change.drafts] == [ev.Noted, ev.Corrected]
    assert all(draft.body.by == "hand" for draft in change.drafts)  # type: ignore[attr-defined]


@pytest.mark.parametrize("stay", [0, 22, 23, -1])
def test_a_split_leaves_dents_on_both_sides(stay: int, talk: Talk) -> None:
    talk.say(HAIL)
    assert talk.hand(lambda c: split_dent(c, 1, stay)).answer == "between 1 and 21 dents can stay"
    assert len(talk.dents()) == 1


def test_what_was_split_can_be_joined_again(talk: Talk) -> None:
    talk.say(HAIL)
    before = talk.estimate.total
    talk.hand(lambda c: split_dent(c, 1, 10))
    assert [dent["count"] for dent in talk.dents()] == [10, 12]
    assert talk.estimate.total == before
    talk.hand(lambda c: merge_dents(c, 1, 2))
    assert [dent["count"] for dent in talk.dents()] == [22]
    assert talk.estimate.total == before


def test_merge_unites_lists_and_carries_readings_steps_and_risks(talk: Talk) -> None:
    talk.say("roof edge", "next dent roof body line", "paint one four two", "texture may show", "warm")
    talk.hand(lambda c: merge_dents(c, 1, 2))
    kept = talk.job.dents[1]
    assert kept.get("features") == ("body-line", "edge")
    assert [reading.um.value for reading in kept.readings] == [142]
    assert [step.step for step in kept.steps] == ["warm"]
    assert kept.risks == ["texture"]
    assert talk.job.dents[2].removed


def test_moves_stop_at_the_ends(talk: Talk) -> None:
    talk.say("roof ten mil", "bonnet ten mil", "tailgate ten mil")
    assert talk.hand(lambda c: move_dent(c, 1, -1)).refused
    assert talk.hand(lambda c: move_dent(c, 3, 1)).refused
    talk.hand(lambda c: move_dent(c, 3, -5))
    assert [dent.number for dent in talk.job.listed()] == [3, 1, 2]


def test_a_dent_moves_to_another_job_and_a_value_to_another_dent(talk: Talk) -> None:
    talk.say("roof ten mil", "bonnet twelve mil deep", "new job")
    first = next(iter(talk.logbook.state.jobs.values()))
    current = talk.job.id
    talk.hand(lambda c: hand_over(c, 2, ["depth"], 1), job=1)
    talk.hand(lambda c: reassign_dent(c, 1, current), job=1)
    assert talk.dents() == [{"panel": "roof", "length_mm": 10, "depth": "deep"}]
    assert [dent.number for dent in first.listed()] == [2]
    assert talk.job.id == current


def test_values_are_copied_to_another_dent(talk: Talk) -> None:
    talk.say("roof ten mil", "bonnet twelve mil deep")
    talk.hand(lambda c: hand_over(c, 2, ["depth", "length_mm"], 1, keep=True))
    assert talk.dents() == [
        {"panel": "roof", "length_mm": 12, "depth": "deep"},
        {"panel": "bonnet", "length_mm": 12, "depth": "deep"},
    ]


@pytest.mark.parametrize("number", [None, 7])
def test_a_dent_that_is_not_there_is_a_refusal(number: int | None, talk: Talk) -> None:
    talk.say("roof ten mil")

    def refuses(context: Context) -> bool:
        wanted = number or 0
        made = (
            set_slots(context, wanted, {"length_mm": held(12)}), move_dent(context, wanted, 1),
            split_dent(context, wanted, 1), merge_dents(context, 1, wanted),
            hand_over(context, 1, ["panel"], wanted), reassign_dent(context, wanted, "nowhere"),
        )  # fmt: skip
        return all(change.refused and change.answer for change in made)

    assert refuses(talk.context())


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"panel": "fuel-flap", "side": "left"}, "no left and right"),
        ({"panel": "door", "side": "left"}, "front or rear"),
        ({"panel": "door", "end": "rear"}, "left or right"),
        ({"side": "left"}, "it needs a panel"),
        ({"panel": "door", "end": "rear", "side": "left"}, ""),
        ({"panel": "bonnet"}, ""),
    ],
)
def test_places(values: dict[str, str], said: str) -> None:
    assert said in misplaced(values)
    assert bool(said) == bool(misplaced(values))
