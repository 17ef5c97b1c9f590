"""Hail by the panel: the panel once, then only counts.  The car and its figures are invented."""

from __future__ import annotations

from tests.actions.conftest import Talk, new_talk
from tests.estimate.plain_price import plain_total
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.checklist import gaps

PANELS = (
    "roof", "bonnet", "boot lid", "left wing", "right wing", "front left door", "front right door",
    "left roof rail", "right roof rail",
)  # fmt: skip


def script() -> list[str]:
    """A car with 300 dents on nine panels as it is said, panel by panel."""
    said = ["new job", "plate hotel alfa two two kilo lima oscar"]
    for panel in PANELS:
        said += [
            f"{panel} steel open access",
            "fifteen at ten twelve at twenty five oversize at forty",
            "two more at thirty" if panel == "roof" else "paint one ten",
            "paint one oh five" if panel == "roof" else f"{panel} done",
        ]
    return [*said, "bonnet liner off", "reference one oh four", "ten more at ten", "what is left", "total"]


def counts(talk: Talk) -> list[tuple[str, object, object, bool]]:
    """(panel, count, size, oversize) of every record."""
    dents = talk.dents()
    return [(d["panel"], d.get("count"), d.get("length_mm"), bool(d.get("oversize"))) for d in dents]


def test_a_hailed_car_of_nine_panels_in_sixty_utterances() -> None:
    said, talk = script(), new_talk()
    outcomes = [talk.say(words) for words in said]
    assert len(said) <= 60
    assert [o.heard.words for o in outcomes if o.heard.decision != "accepted"] == []
    dents = talk.dents()
    assert sum(dent["count"] for dent in dents) == 300
    assert len(dents) == 9 * 3 + 2  # no phantom: three counts a panel and two more of them
    assert all(dent.get("panel") and dent.get("material") == "steel" and dent.get("access") for dent in dents)
    assert [gap.text for gap in gaps(talk.job)] == ["lines checked from two directions"]


def test_its_price_is_the_second_price() -> None:
    talk = new_talk()
    for words in script():
        talk.say(words)
    card = talk.dialogue.card
    estimate = price_job(talk.job, card)
    assert estimate.confirmed
    dents = [
        {name: tuple(value) if isinstance(value, list) else value for name, value in dent.items()}
        for dent in talk.dents()
    ]
    assert estimate.total.low == plain_total(card.text, dents)


def test_counts_go_to_the_panel_said_last_and_several_in_one_breath_are_several_records() -> None:
    talk = new_talk()
    outcome = talk.say("roof steel forty at ten twenty at twenty five oversize")
    assert counts(talk) == [("roof", 40, 10, False), ("roof", 20, 20, False), ("roof", 5, None, True)]
    assert "roof 65" in outcome.heard.answer
    talk.say("thirty dents")
    assert talk.dents()[-1] == {"panel": "roof", "material": "steel", "count": 30}


def test_a_count_without_any_panel_is_asked_for_and_makes_no_record() -> None:
    talk = new_talk()
    talk.say("new job")
    outcome = talk.say("forty at ten")
    assert "which panel" in outcome.heard.answer
    assert talk.dents() == []


def test_the_same_count_again_is_told_and_more_of_it_counts() -> None:
    talk = new_talk()
    talk.say("roof forty at ten")
    assert "already" in talk.say("forty at ten").heard.answer
    talk.say("forty more at ten")
    assert [dent["count"] for dent in talk.dents()] == [40, 40]


def test_all_of_a_panel_on_the_other_side() -> None:
    talk = new_talk()
    talk.say(
        "left roof rail steel", "six at ten two oversize", "left roof rail done", "same on the other side"
    )
    right = [dent for dent in talk.dents() if dent["side"] == "right"]
    assert [(dent.get("count"), dent.get("oversize")) for dent in right] == [(6, None), (2, True)]
    assert not any(dent.get("done") for dent in right)
    assert "notes on the" in talk.say("same on the other side").heard.answer


def test_what_is_said_of_a_hailed_panel_makes_no_dent() -> None:
    """Finding 11: "bonnet liner off" made a dent that left the quote not settled."""
    talk = new_talk()
    talk.say("bonnet steel", "forty at ten twenty at twenty", "roof steel ten at ten", "bonnet liner off")
    assert len(talk.dents()) == 3
    assert [dent.get("take_off") for dent in talk.dents()] == [["liner"], ["liner"], None]
    assert price_job(talk.job, talk.dialogue.card).confirmed
    talk.say("three at ten")
    assert talk.dents()[-1]["panel"] == "bonnet"  # the panel said last


def test_one_reading_and_one_access_answer_a_panel() -> None:
    """Finding 11: 42 things were missing where hail was noted count by count."""
    talk = new_talk()
    talk.say("roof forty at ten twenty at twenty five oversize")
    assert gaps(talk.job)[0].text == "roof material, access, paint reading"
    assert len(gaps(talk.job)) == 2
    talk.say("roof steel open access", "paint one ten", "reference one oh four")
    assert [gap.text for gap in gaps(talk.job)] == ["lines checked from two directions"]


def test_what_is_left_counts_panels_down() -> None:
    talk = new_talk()
    talk.say("roof steel forty at ten", "bonnet steel ten at ten")
    before = talk.say("what is left").heard.answer
    after = talk.say("roof done", "what is left").heard.answer
    assert "roof 40" in before
    assert "0 of 2 panels done" in before
    assert "roof" not in after
    assert "1 of 2 panels done" in after
    assert talk.say("bonnet done", "what is left").heard.answer == "every panel is done"


def test_a_density_alone_is_a_range_of_counts_until_it_is_counted() -> None:
    talk = new_talk()
    talk.say("roof steel light at ten")
    estimate = price_job(talk.job, talk.dialogue.card)
    assert not estimate.confirmed
    assert estimate.total.low < estimate.total.high
    assert [item.choices for item in estimate.unsettled] == [(1, 15)]


def test_a_counted_square_is_a_range_for_the_panel() -> None:
    talk = new_talk()
    talk.say("roof steel twelve in a ten centimetre square at ten", "area one point five square metres")
    estimate = price_job(talk.job, talk.dialogue.card)
    (unsettled,) = estimate.unsettled
    low, high = unsettled.choices
    assert low < 12 * 150 < high  # a square metre and a half is 150 squares of ten centimetres
