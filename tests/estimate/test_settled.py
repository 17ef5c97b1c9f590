"""What a card remembers of settled panels never shows: a price is the one a card without memory gives."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

import pytest

from tests.estimate.benchmark import milliseconds, panels
from tests.estimate.making import dent, field, job, reading
from voicelog.estimate.card import Card, default_card, read_card
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import HandPrice, Job, Question, Quote


def new_card() -> Card:
    """The starting card, without memory."""
    return read_card(default_card().text)


def few() -> Job:
    """Four dents on three panels, of which nothing is open."""
    doors = {"end": "front", "side": "left"}
    return job(dent(1, "roof", 40), dent(2, "bonnet", 15), dent(3, "roof", 20), dent(4, "door", 30, **doors))


def _ask(made: Job) -> None:
    made.questions["q"] = Question("q", "length_mm", (40, 70), "?", 1, "", "")


def _say(slot: str, *values: object) -> Callable[[Job], None]:
    return lambda made: made.dents[1].fields.__setitem__(slot, field(*values))


def _in_place(made: Job) -> None:
    made.dents[1].fields["length_mm"].slot = field(60).slot


def _swap(made: Job) -> None:
    """The same values, held by other slots."""
    fields = made.dents[1].fields
    fields["width_mm"] = fields.pop("length_mm")


def _half_place(made: Job) -> None:
    made.dents[5] = dent(5, "door", 25)
    made.order.append(5)


CHANGES: dict[str, Callable[[Job], None]] = {
    "another length": _say("length_mm", 55),
    "another length, in place": _in_place,
    "a length that was a width": _swap,
    "a doubt": _say("length_mm", 40, 70),
    "a doubtful panel": _say("panel", "roof", "bonnet"),
    "a question": _ask,
    "a dent of which the side is open": _half_place,
    "a part off": _say("take_off", ("headliner",)),
    "a refusal": _say("features", ("paint-broken",)),
    "no material": lambda made: made.dents[1].fields.pop("material") and None,
    "a reading": lambda made: made.dents[1].readings.append(reading("dent", 300)),
    "a reference": lambda made: made.references.append(reading("reference", 100)),
    "another order": lambda made: made.order.reverse(),
    "removed": lambda made: setattr(made.dents[3], "removed", True),
    "a price by hand": lambda made: made.hand_prices.__setitem__(1, HandPrice(50, False, "")),
    "a discount": lambda made: setattr(made, "discount_percent", 5),
    "agreed": lambda made: made.quotes.append(Quote(1, {}, made.opened_at, accepted=True)),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_is_priced_as_if_nothing_had_been_priced_before(name: str) -> None:
    card, made = new_card(), few()
    before = price_job(made, card)
    CHANGES[name](made)
    after = price_job(made, card)
    assert after == price_job(made, new_card())
    assert after != before or name == "agreed"


def test_changes_in_any_row_are_priced_as_if_nothing_had_been_priced_before() -> None:
    random = Random(19)
    for _ in range(60):
        card, made = new_card(), few()
        for name in random.sample(sorted(CHANGES), 5):
            if name == "a length that was a width" and "length_mm" not in made.dents[1].fields:
                continue
            if name == "no material" and "material" not in made.dents[1].fields:
                continue
            if name == "another length, in place" and "length_mm" not in made.dents[1].fields:
                continue
            CHANGES[name](made)
            assert price_job(made, card) == price_job(made, new_card()), name


def test_an_open_dent_leaves_the_lines_in_the_order_of_the_list() -> None:
    made = few()
    _half_place(made)
    made.order = [4, 5, 2, 1, 3]
    lines = price_job(made, new_card()).lines
    assert [line.dents[0] for line in lines if line.kind == "dent"] == made.order


def test_one_more_note_costs_little_beside_the_first_price_of_five_thousand() -> None:
    card, made = new_card(), panels(5000)
    first = milliseconds(made, card, runs=1)
    made.dents[5001] = dent(5001, "roof", 33)
    made.order.append(5001)
    assert milliseconds(made, card, runs=1) < first / 4
