"""Quotes stay as given; what is added later is a supplement that adds up."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.estimate.drawing import cards, job_of, slots
from tests.estimate.making import dent, job
from voicelog.estimate.card import Card, default_card, read_card
from voicelog.estimate.estimate import Estimate, Range
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import card_of, difference, in_force, snapshot, supplement
from voicelog.jobs.records import Job, Quote
from voicelog.journal import events as ev
from voicelog.meaning.note import plain

D = Decimal


def quote(made: Job, card: Card, version: int = 1, supplement_to: int | None = None) -> Quote:
    """A quote as it comes back from the journal."""
    estimate = price_job(made, card) if supplement_to is None else supplement(made)
    assert estimate is not None
    body = ev.Quoted(version, snapshot(made, estimate, card), supplement_to)
    stored = json.loads(json.dumps(body.to_json()))
    back = ev.Quoted.from_json(stored)
    assert isinstance(back, ev.Quoted)
    return Quote(version, dict(back.snapshot), "2025-05-06T10:00:00+01:00", supplement_to, True)


def dearer(card: Card) -> Card:
    return read_card(card.text.replace("hourly_rate = 60.00", "hourly_rate = 90.00"))


def sum_of(estimate: Estimate) -> Range:
    counting = [line.amount for line in estimate.lines if line.amount is not None and line.counts]
    return sum(counting, Range(D(0), D(0)))


def test_a_snapshot_holds_card_lines_and_what_was_told() -> None:
    card = default_card()
    made = job(dent(1, "roof", D("12.5")), told=[("texture", "2025-05-06T09:30:00+01:00")], risks=["texture"])
    held = quote(made, card).snapshot
    assert held["card"] == card.hash
    assert card_of(held).hash == card.hash
    assert held["told"] == [{"risk": "texture", "at": "2025-05-06T09:30:00+01:00"}]
    assert held["total"] == {"low": "19.50", "high": "19.50", "currency": "GBP", "confirmed": True}
    assert held["lines"] == price_job(made, card).to_json()["lines"]
    assert held["damages"] == [
        {"number": 1, "slots": {"panel": "roof", "material": "steel", "length_mm": plain(D("12.5"))}}
    ]
    assert any("base 16.25 min for 12.5 mm" in text for text in held["explained"])


def test_a_later_dent_is_a_supplement_by_the_card_of_the_quote() -> None:
    made = job(dent(1, "roof", 100), dent(2, "door", 30, end="rear", side="left", take_off=("door-card",)))
    made.quotes = [quote(made, default_card())]
    assert supplement(made) is None
    made.dents[3] = dent(3, "roof", 150)
    made.order.append(3)
    assert price_job(made, dearer(default_card())).total != price_job(made, default_card()).total
    more = supplement(made)
    assert more is not None
    figures = [(line.kind, line.dents, str(line.amount.low)) for line in more.lines if line.amount]
    assert figures == [("dent", (1,), "-34.00"), ("dent", (3,), "130.00"), ("tax", (), "19.20")]
    assert more.lines[0].reason == "was quoted at 85.00, is now 51.00"
    assert more.total == sum_of(more) == Range.of(D("115.20"))


def test_a_second_supplement_counts_from_the_first() -> None:
    made = job(dent(1, "roof", 100))
    made.quotes = [quote(made, default_card())]
    for number in (2, 3):
        made.dents[number] = dent(number, "roof", 30)
        made.order.append(number)
        more = supplement(made)
        assert more is not None
        assert [line.dents for line in more.lines] == [(number,), ()]
        made.quotes.append(quote(made, default_card(), number, supplement_to=1))
    assert supplement(made) is None


def test_a_removed_dent_is_taken_back() -> None:
    made = job(dent(1, "roof", 100), dent(2, "bonnet", 100))
    made.quotes = [quote(made, default_card())]
    made.dents[2].removed = True
    more = supplement(made)
    assert more is not None
    assert more.total == Range.of(D("-102.00"))
    assert more.lines[-1].reason == "was quoted and is no longer part of the job"


def test_a_dent_that_turns_out_refused_is_taken_back_with_the_reason() -> None:
    made = job(dent(1, "roof", 100), dent(2, "bonnet", 100))
    made.quotes = [quote(made, default_card())]
    made.dents[2] = dent(2, "bonnet", 100, features=("paint-broken",))
    more = supplement(made)
    assert more is not None
    assert {line.kind for line in more.lines if 2 in line.dents} == {"dent", "refusal"}
    assert more.total == sum_of(more) == Range.of(D("-102.00"))


def test_which_quote_is_in_force() -> None:
    made = job(dent(1, "roof", 100))
    one, two, three, four = (quote(made, default_card(), version) for version in (1, 2, 3, 4))
    one.accepted, two.accepted, three.accepted, four.accepted = False, True, None, True
    four.supplement_to = 2
    made.quotes = [one, two, three, four]
    assert [held.version for held in in_force(made)] == [2, 4]
    two.accepted = None
    assert [held.version for held in in_force(made)] == [3]
    made.quotes = [one]
    assert in_force(made) == []
    assert supplement(made) is None


@settings(deadline=None, max_examples=100)
@given(cards(), st.lists(slots(open_slots=1), min_size=1, max_size=4), st.lists(slots(), max_size=3))
def test_quote_and_supplement_add_up_to_the_job(
    text: str, first: list[dict[str, Any]], later: list[dict[str, Any]]
) -> None:
    card = read_card(text)
    before, after = job_of(first), job_of([*first[1:], *later, first[0]])
    quoted, now = price_job(before, card), price_job(after, card)
    more = difference([snapshot(before, quoted, card)], now)
    if more is None:
        assert quoted.total == now.total
        return
    assert quoted.total + more.total == now.total
    assert sum_of(more) == more.total
    assert more.net + more.tax == more.total
