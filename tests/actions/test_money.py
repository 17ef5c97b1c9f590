"""Money and many cars by ear: what is said back, what is refused, and what the record holds then."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.actions.conftest import Talk
from voicelog.estimate.estimate import Range

ROOF = "roof steel thirty mil shallow push open access"
PLATE = "alfa bravo two six kilo lima mike"


def test_a_quote_that_is_not_settled_says_so_and_cannot_be_accepted(talk: Talk) -> None:
    talk.say("roof thirty mil", "bonnet thirty mil", "give quote")
    assert talk.answer == (
        "quote 1, £87.36 to £103.20, not settled, no firm price yet; roof: steel or aluminium?"
    )
    talk.say("quote accepted")
    assert "no firm price; to be settled before it can be accepted: dent 1: material" in talk.answer
    assert talk.job.quotes[0].accepted is None
    talk.say("give quote", "steel")  # what is asked about just now, though the bonnet is open
    assert talk.answer == "dent 1, material steel; bonnet: steel or aluminium?"
    talk.say("aluminium", "give quote", "quote accepted")
    assert [quote.accepted for quote in talk.job.quotes] == [None, None, True]
    assert talk.estimate.total == Range.of(Decimal("95.28"))


def test_two_materials_on_one_panel_are_asked_about(talk: Talk) -> None:
    """Findings, trade 7: 30 mm in aluminium, 24 × 1.25 = 30 min; 40 mm in steel 31 min, or 38.75."""
    talk.say("roof aluminium thirty mil shallow", "next dent roof steel forty mil shallow")
    assert talk.answer == "steel, but aluminium on the same panel; steel or aluminium?"
    assert not talk.estimate.total.settled
    talk.say("give quote", "quote accepted")
    assert talk.job.quotes[0].accepted is None
    talk.say("aluminium")
    assert [dent["material"] for dent in talk.dents()] == ["aluminium", "aluminium"]
    assert talk.estimate.total == Range.of(Decimal("98.92"))


@pytest.mark.parametrize("dent", ["roof steel three hundred and forty mil", "fuel flap plastic ten mil"])
def test_a_quote_of_nothing_that_is_priced_cannot_be_accepted(talk: Talk, dent: str) -> None:
    talk.say(dent, "give quote", "quote accepted")
    assert talk.job.quotes[0].accepted is None


def test_what_is_tried_while_working_does_not_change_what_was_agreed(talk: Talk) -> None:
    talk.say(ROOF, "give quote", "quote accepted")
    before = talk.estimate.total
    talk.say("start work", "glue pull")
    assert talk.job.question is None
    assert [step.step for step in next(iter(talk.job.listed())).steps] == ["pull"]
    talk.say("pull three twenty mil crease tab")
    assert (talk.estimate.total, talk.estimate.confirmed) == (before, True)
    assert talk.say("give quote").heard.decision == "rejected"  # nothing was added


def test_a_supplement_is_named_with_its_lines(talk: Talk) -> None:
    talk.say(ROOF, "give quote", "quote accepted", "bonnet steel thirty mil", "give quote")
    assert talk.answer == "supplement 2, £31.68, dent 2 £26.40"


def test_nothing_of_nought_is_invoiced_without_a_yes(talk: Talk) -> None:
    talk.say("new job", "invoice it")
    assert talk.answer == "not invoiced: the total is nought; say invoice it anyway"
    assert not talk.job.issued
    talk.say("invoice it anyway")
    assert len(talk.job.issued) == 1


def test_what_was_found_since_the_quote_is_not_left_out_in_silence(talk: Talk) -> None:
    talk.say(ROOF, "give quote", "quote accepted", "bonnet steel thirty mil", "invoice it")
    assert "found since the quote is not agreed: give a supplement" in talk.answer
    talk.say("give quote", "quote accepted", "invoice it")
    assert talk.job.issued[0].snapshot["total"]["low"] == "87.36"


def test_a_range_that_is_invoiced_nevertheless_is_said_as_it_is_charged(talk: Talk) -> None:
    talk.say("roof thirty mil", "invoice it anyway")
    assert talk.answer.endswith("-0001, £55.68, no customer is named")


def test_an_invoice_stays_whatever_is_said_later(talk: Talk) -> None:
    talk.say(ROOF, "give quote", "quote accepted", "invoice it")
    (issued,) = talk.job.issued
    before = dict(issued.snapshot)
    talk.say("discount five percent", "bonnet steel fifty mil", "job finished")
    talk.say(*["scratch that"] * 4)
    assert talk.answer == f"{issued.number} was issued and stays; say credit note to take it back"
    assert dict(talk.job.issued[0].snapshot) == before
    talk.say("credit note")
    assert [one.snapshot["kind"] for one in talk.job.issued] == ["invoice", "credit-note"]


def test_payments_by_ear(talk: Talk) -> None:
    talk.say(ROOF, "deposit twenty cash")
    assert talk.answer == "paid £20.00 cash, a deposit"
    talk.say("invoice it", "paid thirty card")
    assert talk.answer == "paid £30.00 card, £5.68 open"
    talk.say("paid transfer")
    assert talk.answer == "paid £5.68 transfer, all paid"
    assert talk.say("paid transfer").heard.decision == "rejected"
    talk.say("scratch that", "scratch that")
    assert sum(Decimal(str(one.amount)) for one in talk.job.payments) == 50


def test_prices_by_hand(talk: Talk) -> None:
    talk.say("bonnet steel three hundred and forty mil", "price ninety five for this one")
    assert talk.answer == "dent 1 £95.00 before tax"
    assert talk.estimate.net == Range.of(Decimal("115.00"))  # and the call-out
    talk.say("add travel twelve", "call it three fifty")
    assert talk.answer == "the job £350.00 before tax"
    assert talk.estimate.net == Range.of(Decimal("350.00"))
    talk.say("scratch that")
    assert talk.estimate.net == Range.of(Decimal("127.00"))


def test_a_plate_of_another_open_job_is_never_taken(talk: Talk) -> None:
    talk.say(f"new job plate {PLATE}", ROOF, "new job", f"plate {PLATE}")
    assert talk.answer == "that is job 1, still open; go to job 1?"
    assert talk.job.get("plate") is None
    assert talk.say(f"new job plate {PLATE}").heard.decision == "asked"
    assert len(talk.job.waiting) == 1
    talk.say("no")
    assert (talk.answer, talk.job.number) == ("left as it is", 2)
    talk.say("open jobs")
    assert talk.answer == "open: job 2, job 1 AB26KLM"
    talk.say(f"go to plate {PLATE}")
    assert talk.job.number == 1
    talk.say("job finished", f"new job plate {PLATE}")  # a second visit
    assert talk.job.number == 3


def test_going_to_a_car_as_people_call_it(talk: Talk) -> None:
    talk.say("new job", "colour red", "make is hatchback", "customer is mary example")
    talk.say("new job", "colour blue", "stock number alfa one two", "new job", "colour red")
    for said, number in (
        ("go to the red hatchback", 1), ("go to the blue one", 2), ("go to the car of mary example", 1),
        ("go to stock number alfa one two", 2),
    ):  # fmt: skip
        talk.say(said)
        assert talk.job.number == number, said
    talk.say("go to the red one")
    assert talk.answer == "2 fit: job 3 red, job 1 red Hatchback Mary Example; say go to job"
    assert talk.say("go to the silver one").heard.decision == "rejected"


@pytest.mark.parametrize("leaving", ["new job", "go to job one", "close the day", "job finished"])
def test_one_clock_runs_at_a_time(talk: Talk, leaving: str) -> None:
    talk.say("new job", ROOF, "new job", ROOF, "start work")
    assert talk.say("start work").heard.decision == "asked"
    talk.say(*([leaving, "yes"] if leaving == "job finished" else [leaving]))
    states = [job.timer.state for job in talk.logbook.state.jobs.values()]
    assert "running" not in states
    if leaving != "job finished":
        assert "work on job 2 " in talk.answer


def test_how_long_and_what_was_forgotten(talk: Talk) -> None:
    """24 minutes for 30 mm; the card's 25 % for aluminium are 6.60, with VAT 7.92."""
    talk.say("roof thirty mil shallow open access", "how long")
    assert talk.answer == "worked 0 minutes, 24 minutes to 30 minutes to do"
    talk.say("what is owed")
    assert talk.answer == "roof: material not said, up to £7.92"
