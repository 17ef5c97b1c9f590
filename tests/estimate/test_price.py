"""Single cases of a price: what is refused, what is missing, what is asked, what is advised."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from tests.estimate.drawing import alternatives, job_of
from tests.estimate.making import dent, job, reading
from tests.estimate.plain_price import plain_total
from voicelog.estimate.card import Card, default_card, read_card
from voicelog.estimate.estimate import Estimate, Line, Range
from voicelog.estimate.how_long import time_left
from voicelog.estimate.owed import owed
from voicelog.estimate.pricing import dent_options as options
from voicelog.estimate.pricing import extremes as ranges
from voicelog.estimate.pricing.minutes import base_minutes
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Extra, Field, HandPrice, Past, Question, Quote, Step
from voicelog.meaning.note import SlotValue

D = Decimal
CARD = default_card("GB")
"""60 an hour, so that minutes are pounds; VAT 20 %, no minimum charge."""


def changed(*pairs: str) -> Card:
    text = CARD.text
    for old, new in zip(pairs[::2], pairs[1::2], strict=True):
        assert old in text
        text = text.replace(old, new)
    return read_card(text)


def lines(estimate: Estimate, kind: str) -> list[Line]:
    return [line for line in estimate.lines if line.kind == kind]


def net(*dents: Any, **details: Any) -> Range:
    return price_job(job(*dents, **details), CARD).net


def test_the_base_is_numpy_interp() -> None:
    """Source: numpy.interp, over the whole table in steps of a tenth of a millimetre."""
    mm = [float(point[0]) for point in CARD.points]
    minutes = [float(point[1]) for point in CARD.points]
    for tenths in range(1, 3001):
        found = base_minutes(D(tenths) / 10, CARD.points)[1]
        assert float(found) == pytest.approx(np.interp(tenths / 10, mm, minutes), abs=1e-9)


@pytest.mark.parametrize(
    ("slots", "cause"),
    [
        ({"features": ("paint-broken",)}, "paint-broken"),
        ({"features": ("edge", "paint-broken")}, "paint-broken"),
        ({"material": "plastic"}, "plastic"),
        ({"material": "composite"}, "card"),
        ({"length_mm": 301}, "beyond-table"),
        ({"width_mm": 301}, "beyond-table"),
        ({"features": ("filler",), "method": "glue-pull"}, "filler"),
        ({"length_mm": None}, "missing"),
        ({"panel": None}, "missing"),
        ({"count": 0}, "missing"),
    ],
)
def test_a_refusal_has_a_reason_and_no_number(slots: dict[str, Any], cause: str) -> None:
    estimate = price_job(job(dent(1, **{"panel": "roof", "length_mm": 30, **slots})), CARD)
    (line,) = estimate.lines[:1]
    assert (line.kind, line.cause, line.amount) == ("refusal", cause, None)
    assert len(line.reason) > 20
    assert estimate.total == Range.of(D(0))
    assert not lines(estimate, "dent")
    assert estimate.confirmed == (cause != "missing")
    assert [hand.dents for hand in estimate.price_by_hand] == ([(1,)] if cause == "beyond-table" else [])


def test_a_refused_dent_takes_no_place_and_no_part() -> None:
    broken = dent(1, "roof", 200, features=("paint-broken",), take_off=("head-lining",))
    estimate = price_job(job(broken, dent(2, "roof", 30)), CARD)
    assert estimate.net == Range.of(D("26.00"))
    assert not lines(estimate, "take-off")


def test_the_card_may_word_a_refusal_but_not_lift_it() -> None:
    card = changed("[refusals.material]\n", '[refusals.material]\nplastic = "we send these on"\n')
    (line, *_) = price_job(job(dent(1, material="plastic")), card).lines
    assert (line.cause, line.reason, line.amount) == ("plastic", "we send these on", None)


@pytest.mark.parametrize(
    ("at_dent", "references", "method", "kind", "cause"),
    [
        ([510], [], "glue-pull", "refusal", "filler"),
        ([510], [], "push", "advice", "filler"),
        ([260], [], "glue-pull", "refusal", "refinish"),
        ([260], [], None, "advice", "refinish"),
        ([190], [100], "glue-pull", "refusal", "refinish"),
        ([190], [110], "glue-pull", "dent", ""),
        ([190], [100, 140], "glue-pull", "dent", ""),
        ([120, 130, 260], [], "glue-pull", "refusal", "refinish"),
    ],
)
def test_readings_forbid_a_glue_pull(
    at_dent: list[int], references: list[int], method: str | None, kind: str, cause: str
) -> None:
    """Common practice, no source: an undisturbed factory finish reads about 80 to 180 µm."""
    one = dent(1, "roof", 30, method=method)
    one.readings = [reading("dent", um) for um in at_dent]
    made = job(one, references=[reading("reference", um) for um in references])
    estimate = price_job(made, CARD)
    assert (kind, cause) in {(line.kind, line.cause) for line in estimate.lines}
    assert bool(lines(estimate, "dent")) == (kind != "refusal")


@pytest.mark.parametrize(
    ("slots", "um", "amount"),
    [
        ({"length_mm": 100, "width_mm": 70}, None, "85.00"),
        ({"length_mm": 100, "width_mm": 71}, None, "93.50"),
        ({"length_mm": 300}, None, "280.00"),
        ({"length_mm": 30}, 200, "26.00"),
        ({"length_mm": 30, "method": "glue-pull"}, 250, "38.60"),
        ({"length_mm": 30, "features": ("filler",), "method": "push"}, None, "26.00"),
    ],
)
def test_a_limit_itself_is_still_within(slots: dict[str, Any], um: int | None, amount: str) -> None:
    one = dent(1, "roof", **slots)
    one.readings = [] if um is None else [reading("dent", um)]
    assert net(one) == Range.of(D(amount))


def test_thick_paint_adds_its_percentage() -> None:
    one = dent(1, "roof", 30)
    one.readings = [reading("dent", 201)]
    assert net(one) == Range.of(D("28.60"))  # 26 × 1.1


def test_a_reference_for_the_panel_counts_before_one_for_none() -> None:
    one = dent(1, "roof", 30, method="glue-pull")
    one.readings = [reading("dent", 190)]
    both = [
        reading("reference", 100),
        reading("reference", 150, panel="roof"),
        reading("reference", 90, panel="wing"),
    ]
    assert lines(price_job(job(one, references=both), CARD), "dent")


def test_a_reference_in_doubt_is_a_value_of_the_job() -> None:
    one, two = (dent(n, "roof", 30, method="glue-pull") for n in (1, 2))
    one.readings, two.readings = [reading("dent", 190)], [reading("dent", 195)]
    estimate = price_job(job(one, two, references=[reading("reference", 150, 105)]), CARD)
    # at 150 both are priced, 26, 60 % of 26 and a set-up of 10; at 105 both are 80 or more over: 85 and 90
    assert estimate.net == Range(D("0.00"), D("51.60"))
    (item,) = estimate.unsettled
    assert (item.dent, item.slot, item.choices) == (None, "reference_um", (150, 105))
    assert item.difference == D("61.92")  # with 20 % tax
    assert not estimate.confirmed


def test_ends_and_sides_tell_panels_apart_only_where_there_are_several() -> None:
    assert net(dent(1, "bonnet", 20, end="front"), dent(2, "bonnet", 20)) == Range.of(D("32.00"))
    assert net(dent(1, "wing", 20, side="left", end="front"), dent(2, "wing", 20, side="right")) == Range.of(
        D("40.00")
    )


def test_a_side_not_said_may_be_the_same_panel_or_another() -> None:
    said = dent(1, "door", 30, end="rear", side="right")
    estimate = price_job(job(said, dent(2, "door", 20)), CARD)
    assert estimate.net == Range(D("38.00"), D("46.00"))
    assert [(item.dent, item.slot) for item in estimate.unsettled] == [(2, "place")]
    assert not estimate.confirmed
    assert estimate.unsettled[0].choices == ("rear right door", "another door")
    alone = price_job(job(dent(1, "door", 20), dent(2, "roof", 20)), CARD)
    assert alone.confirmed


@pytest.mark.parametrize(
    ("places", "low", "high"),
    [
        (({}, {}), "32.00", "40.00"),
        (({"side": "right"}, {"end": "rear"}), "32.00", "40.00"),
        (({"side": "right"}, {"side": "left"}), "40.00", "40.00"),
        (({"side": "right"}, {"end": "rear"}, {"end": "rear", "side": "right"}), "40.00", "60.00"),
        (({"side": "right"}, {"side": "left"}, {"end": "rear"}), "52.00", "60.00"),
    ],
)
def test_panels_said_in_part_may_be_the_same(places: Any, low: str, high: str) -> None:
    made = job(*(dent(number, "door", 20, **place) for number, place in enumerate(places, 1)))
    assert price_job(made, CARD).net == Range(D(low), D(high))


def test_an_open_question_keeps_the_total_unconfirmed_and_its_choices_count() -> None:
    question = Question("q1", "length_mm", (15, 50), "fifteen or fifty?", 1, "sound alike", "")
    estimate = price_job(job(dent(1, "roof", 15), questions={"q1": question}), CARD)
    assert estimate.net == Range(D("17.50"), D("40.00"))
    assert estimate.unsettled[0].choices == (15, 50)
    unsaid = price_job(job(dent(1, "roof", None), questions={"q1": question}), CARD)
    assert unsaid.net == Range(D("17.50"), D("40.00"))


def test_a_value_in_doubt_without_a_difference_still_counts_as_not_confirmed() -> None:
    estimate = price_job(job(dent(1, "wing", 20, side=["left", "right"])), CARD)
    assert estimate.total.settled
    assert not estimate.confirmed
    assert estimate.unsettled[0].difference == 0


def test_the_cap_advises_to_compare_with_a_new_panel() -> None:
    estimate = price_job(job(dent(1, "roof", 10, count=200)), CARD)
    (cap,) = lines(estimate, "cap")
    assert cap.amount == Range.of(D("720") - (15 + 9 + 198 * 6))
    assert [line.cause for line in estimate.advice] == ["cap"]
    assert "replacing the panel" in estimate.advice[0].reason
    assert estimate.net == Range.of(D("720.00"))


def test_parts_are_charged_once_a_job_and_place() -> None:
    """Common practice, no source: a door card is of one door, a mirror of one side."""
    off = ("door-card", "mirror")
    first = dent(1, "door", 30, end="front", side="left", take_off=off)
    second = dent(2, "door", 30, end="rear", side="left", take_off=off)
    third = dent(3, "door", 30, end="rear", side="left", take_off=("door-card",))
    parts = {
        line.text: (line.dents, line.place, line.amount)
        for line in lines(price_job(job(first, second, third), CARD), "take-off")
    }
    assert parts == {
        "Front left door card off and on": ((1,), ("door", "front", "left"), Range.of(D("30.00"))),
        "Rear left door card off and on": ((2, 3), ("door", "rear", "left"), Range.of(D("30.00"))),
        "Left mirror off and on": ((1, 2), (None, None, "left"), Range.of(D("20.00"))),
    }


def test_left_and_right_tail_light_are_two_parts() -> None:
    quarters = [dent(n, "quarter", 30, side=side, take_off=("tail-light",))
                for n, side in enumerate(("left", "right"), 1)]  # fmt: skip
    found = lines(price_job(job(*quarters), CARD), "take-off")
    assert [line.text for line in found] == ["Left tail light off and on", "Right tail light off and on"]
    # the light of a side not said may be the other's or one more
    unsaid = dent(3, "quarter", 30, take_off=("tail-light",))
    both = price_job(job(quarters[0], unsaid), CARD)
    parts = lines(both, "take-off")
    assert sum(line.amount.low for line in parts if line.amount) == D("15.00")
    assert sum(line.amount.high for line in parts if line.amount) == D("30.00")


def test_set_up_is_charged_once_a_panel() -> None:
    hail = dent(1, "roof", 10, count=105, method="glue-pull")
    roof = price_job(job(hail, dent(2, "roof", 10, method="mixed")), CARD)
    (setup,) = lines(roof, "set-up")
    assert (setup.dents, setup.amount, setup.minutes) == ((1, 2), Range.of(D("10.00")), Range.of(D(10)))
    assert roof.net == Range.of(D(15 + 9 + 104 * 6 + 10))
    both = price_job(job(hail, dent(2, "bonnet", 10, method="glue-pull")), CARD)
    assert len(lines(both, "set-up")) == 2


def test_a_material_said_once_holds_for_the_panel() -> None:
    said, unsaid = dent(1, "bonnet", 30, material="aluminium"), dent(2, "bonnet", 40, material=None)
    assert price_job(job(said, unsaid), CARD).confirmed
    assert net(said, unsaid) == net(said, dent(2, "bonnet", 40, material="aluminium"))
    elsewhere = price_job(job(said, dent(2, "roof", 40, material=None)), CARD)
    assert not elsewhere.confirmed
    assert elsewhere.net == Range(D("32.50") + 33, D("32.50") + D("41.25"))
    (item,) = elsewhere.unsettled
    assert (item.dent, item.slot, item.choices) == (2, "material", ("steel", "aluminium"))
    assert item.difference == D("9.90")  # 8.25 with 20 % tax


def test_a_material_on_which_nothing_hangs_is_not_open() -> None:
    card = changed("aluminium = { percent = 25 }\n", "")
    assert price_job(job(dent(1, "roof", 30, material=None)), card).confirmed


def test_a_bumper_is_usually_plastic_so_it_is_not_priced_as_steel() -> None:
    estimate = price_job(job(dent(1, "bumper", 30, end="rear", material=None)), CARD)
    assert [line.cause for line in estimate.refusals] == ["plastic"]
    assert price_job(job(dent(1, "bumper", 30, end="rear")), CARD).net == Range.of(D("26.00"))


def test_surcharges_apply_to_the_capped_sum() -> None:
    """150 deep dents in an aluminium roof: the cap of 720 minutes with 50 and 25 percent on it."""

    def capped(**slots: Any) -> Range:
        return net(dent(1, "roof", 30, count=150, **slots))

    assert capped() == Range.of(D("720.00"))
    assert capped(depth="deep") == Range.of(D("1080.00"))
    assert capped(material="aluminium") == Range.of(D("900.00"))
    assert capped(depth="deep", material="aluminium") == Range.of(D("1260.00"))
    assert capped(shape="crease") == Range.of(D("720.00"))
    # one deep dent among them raises it by its own surcharge: 26 × 50 % at the further share of 40 %
    one = net(dent(1, "roof", 30, count=149), dent(2, "roof", 30, depth="deep"))
    assert one == Range.of(D("725.20"))


def test_corrosion_protection_is_charged_once_a_panel_after_access() -> None:
    card = changed('minutes = 0\nafter = ["open", ', "minutes = 6\nafter = [")
    made = job(
        dent(1, "roof", 30, access="trim-off"), dent(2, "roof", 30, access="trim-off"), dent(3, "wing")
    )
    (line,) = lines(price_job(made, card), "protection")
    assert (line.text, line.dents, line.amount) == ("Corrosion protection: roof", (1, 2), Range.of(D("6.00")))
    assert not lines(price_job(job(dent(1, "roof", 30, access="open")), card), "protection")


def test_the_card_may_allow_to_push_a_dent_with_a_chip() -> None:
    card = changed("chip_may_stay = false", "chip_may_stay = true")
    pushed = price_job(job(dent(1, "roof", 30, features=("paint-broken",), method="push")), card)
    assert pushed.net == Range.of(D("26.00"))
    (advice,) = pushed.advice
    assert (advice.cause, "the chip stays" in advice.reason) == ("paint-broken", True)
    for method in ("glue-pull", "mixed", None):
        made = job(dent(1, "roof", 30, features=("paint-broken",), method=method))
        assert [line.cause for line in price_job(made, card).refusals] == ["paint-broken"]


def test_a_part_the_card_does_not_know_is_advised() -> None:
    card = changed("mirror = 20\n", "")
    estimate = price_job(job(dent(1, "door", 30, side="left", take_off=("mirror",))), card)
    assert [line.reason for line in estimate.advice] == [
        "the card has no minutes for the mirror off and on: not charged"
    ]


def test_minimum_call_out_and_discount_come_in_this_order() -> None:
    assert "minimum = 0 " in CARD.text
    card = changed("call_out = 0", "call_out = 25", "minimum = 0", "minimum = 60")
    estimate = price_job(job(dent(1, "roof", 20), discount_percent=10), card)
    amounts = {line.kind: line.amount.low for line in estimate.lines if line.amount}
    assert [f"{amount:.2f}" for amount in amounts.values()] == ["20.00", "40.00", "25.00", "-8.50", "15.30"]
    assert list(amounts) == ["dent", "minimum", "call-out", "discount", "tax"]
    assert estimate.total == Range.of(D("91.80"))


def test_a_discount_over_the_limit_is_cut_and_said() -> None:
    estimate = price_job(job(dent(1, "roof", 100), discount_percent=25), CARD)
    (line,) = lines(estimate, "discount")
    assert (line.text, line.amount) == ("Discount 10 %", Range.of(D("-8.50")))
    assert estimate.advice[0].reason == "25 % was asked for, the card allows at most 10 %"


def test_an_empty_job_costs_nothing() -> None:
    estimate = price_job(job(), changed("call_out = 0", "call_out = 25"))
    assert estimate.total == Range.of(D(0))
    assert estimate.to_json()["total"] == {
        "low": "0.00",
        "high": "0.00",
        "currency": "GBP",
        "confirmed": True,
    }


def test_removed_dents_do_not_count() -> None:
    gone = dent(1, "roof", 100)
    gone.removed = True
    estimate = price_job(job(gone, dent(2, "roof", 30)), CARD)
    assert estimate.net == Range.of(D("26.00"))
    assert [number for number, _ in estimate.damages] == [2]


@pytest.mark.parametrize(
    ("currency", "total"), [("JPY", "31"), ("KWD", "31.200"), ("EUR", "31.20"), ("USD", "31.20")]
)
def test_minor_units_reach_the_json(currency: str, total: str) -> None:
    """Source: ISO 4217: no decimals for the yen, three for the Kuwaiti dinar.  26 × 1.2 = 31.2."""
    card = changed('currency = "GBP"', f'currency = "{currency}"')
    estimate = price_job(job(dent(1, "roof", 30)), card)
    assert estimate.to_json()["total"]["low"] == total


def test_american_words_and_inches() -> None:
    estimate = price_job(
        job(dent(1, "wing", 254, width_mm=127, side="left", material="aluminium")), default_card("US")
    )
    assert estimate.lines[0].text == "Dent 1: left fender, 10 × 5 in, aluminum"


MANY: list[dict[str, list[Any]]] = [
    {
        "panel": ["roof", "bonnet"],
        "length_mm": [15, 50],
        "material": ["steel"],
        "take_off": [("liner",), ("trim",)],
    },
    {"panel": ["roof", "bonnet"], "length_mm": [30, 33], "count": [2, 20], "material": ["steel", "plastic"]},
    {
        "panel": ["bonnet"],
        "length_mm": [40],
        "material": ["steel"],
        "shape": ["bowl", "crease"],
        "width_mm": [10, 39],
    },
]


@pytest.mark.parametrize(("scenarios", "combinations"), [(1, 1024), (4096, 1), (1, 1)])
def test_above_the_bounds_the_range_still_holds_every_alternative(
    scenarios: int, combinations: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    exact = price_job(job_of(MANY), CARD)
    totals = [plain_total(CARD.text, settled) for settled in alternatives(MANY)]
    assert (exact.total.low, exact.total.high) == (min(totals), max(totals))
    assert exact.exact
    monkeypatch.setattr(ranges, "MOST_SCENARIOS", scenarios)
    monkeypatch.setattr(options, "MOST_COMBINATIONS", combinations)
    wide = price_job(job_of(MANY), CARD)
    assert wide.total.low <= min(totals) <= max(totals) <= wide.total.high
    assert not wide.exact
    assert not wide.confirmed
    assert wide.advice[-1].cause == "wide-range"


def said_at(made: Any, slot: str, *told: tuple[str, str, str]) -> None:
    """Give a dent's slot a history of (value, how, time on one day)."""
    made.fields[slot] = Field(SlotValue(told[-1][0]), [_past(*one) for one in told])


def _past(value: str, how: Any, at: str) -> Past:
    return Past(value, "", "voice", how, "e", 1, f"2025-05-06T{at}:00+01:00")


def test_a_method_tried_after_acceptance_does_not_reprice() -> None:
    """Quoted at 10:00; "glue pull" at 11:00 is work done, "correct method glue pull" is another dent."""
    one = dent(1, "roof", 30)
    made = job(one)
    made.quotes = [Quote(1, {}, "2025-05-06T10:00:00+01:00", accepted=True)]
    said_at(one, "method", ("push", "heard", "09:00"), ("glue-pull", "heard", "11:00"))
    assert price_job(made, CARD).net == Range.of(D("26.00"))
    said_at(one, "method", ("glue-pull", "heard", "11:00"))
    assert price_job(made, CARD).net == Range.of(D("26.00"))
    said_at(one, "method", ("push", "heard", "09:00"), ("glue-pull", "corrected", "11:00"))
    assert price_job(made, CARD).net == Range.of(D("36.00"))
    said_at(one, "method", ("glue-pull", "heard", "09:00"))
    assert price_job(made, CARD).net == Range.of(D("36.00"))
    made.quotes[0].accepted = None
    said_at(one, "method", ("glue-pull", "heard", "11:00"))
    assert price_job(made, CARD).net == Range.of(D("36.00"))


def test_steps_and_times_never_change_a_price() -> None:
    made = job(dent(1, "roof", 30, method="push"))
    before = price_job(made, CARD)
    made.dents[1].steps = [Step("pull", {"pulls": 3}, "2025-05-06T11:00:00+01:00", 4)]
    made.dents[1].worked_s, made.timer.worked_s = 9000.0, 9000.0
    assert price_job(made, CARD) == before


def test_both_figures_where_conventional_repair_may_be_cheaper() -> None:
    table = "[conventional_repair]\nevery_panel = 80\nby_panel = {bonnet = 300}\n[charges]"
    card = changed("[charges]", table)
    made = job(dent(1, "roof", 100), dent(2, "bonnet", 100))
    (advice,) = price_job(made, card).advice
    assert (advice.cause, advice.place) == ("replace", ("roof", None, None))
    assert "85.00 GBP" in advice.reason
    assert "80.00" in advice.reason
    assert "the choice is yours" in advice.reason
    assert not price_job(made, CARD).advice


def test_what_is_left_to_do_goes_by_the_own_speed_and_not_by_the_price() -> None:
    text = "[speed]\nall = 0.5\n[speed.by_value.material]\naluminium = 1.2\n[charges]"
    card = changed("[charges]", text)
    made = job(dent(1, "roof", 100), dent(2, "bonnet", 50, material="aluminium", take_off=("liner",)))
    assert price_job(made, card).lines == price_job(made, CARD).lines
    made.timer.worked_s = 1800.0
    made.timer.running_since = "2025-05-06T10:00:00+01:00"
    now = datetime.fromisoformat("2025-05-06T10:10:00+01:00")
    left = time_left(made, price_job(made, card), card, now)
    # (85 + 50 × 1.2 + 25) × 0.5 = 85 minutes, of which 40 are done
    assert (left.worked, left.expected, left.left) == (D(40), Range.of(D(85)), Range.of(D(45)))
    made.timer.worked_s = 90_000.0
    assert time_left(made, price_job(made, card), card, now).left == Range.of(D(0))


def test_owed_tells_what_was_forgotten_with_its_amount() -> None:
    made = job(
        dent(1, "roof", 30, material=None, depth="shallow", access="open"),
        dent(2, "door", 30, end="front", side="left", depth="shallow", access="trim-off"),
        dent(3, "wing", 30, side="left", access="open"),
    )
    found = {item.text: item.amount for item in owed(made, CARD)}
    assert found == {
        "roof: material not said": Range(D(0), D("7.80")),  # 26 × 25 % with 20 % tax
        "dent 2: trim off, but not what (door card)": Range.of(D("36.00")),
        "dent 3: depth not said": Range(D(0), D("15.60")),  # deep: 50 %
    }
    assert not owed(job(dent(1, "roof", 30, depth="deep", access="open")), CARD)


@pytest.mark.parametrize(
    ("included", "taxed", "amount", "total"),
    [("false", False, "90.00", "191.88"), ("false", True, "75.00", "173.88"),
     ("true", False, "108.00", "178.50"), ("true", True, "90.00", "160.50")],
)  # fmt: skip
def test_a_dent_priced_by_hand_stands_in_place_of_the_card(
    included: str, taxed: bool, amount: str, total: str
) -> None:
    """90 for a chipped bonnet beside a roof of 66.90 and clips of 3 before tax.

    Tax of 20 %: 90 with it are 75 without, 90 without are 108 with it; (90 + 66.9 + 3) × 1.2 = 191.88,
    (75 + 66.9 + 3) × 1.2 = 173.88; where the card holds the tax 108 + 66.9 + 3.6 and 90 + 66.9 + 3.6.
    """
    card = changed("included = false", f"included = {included}", "[75, 60]", "[75, 66.9]")
    dear = dent(1, "bonnet", 340, features=("paint-broken",), take_off=("liner",), material=None)
    made = job(dear, dent(2, "roof", 75))
    made.hand_prices[1] = HandPrice(90, taxed, "")
    made.extras = [Extra("e", "wheel arch clips", 3)]
    estimate = price_job(made, card)
    first = next(line for line in estimate.lines if line.dents == (1,))
    assert (first.amount, first.cause, first.reason) == (Range.of(D(amount)), "by-hand", "price by hand")
    assert not lines(estimate, "take-off")
    assert estimate.confirmed
    assert estimate.total == Range.of(D(total))


@pytest.mark.parametrize("taxed", [False, True])
@pytest.mark.parametrize("included", ["false", "true"])
def test_a_price_for_the_whole_job_settles_it(included: str, taxed: bool) -> None:
    """ "Call it three fifty": 350 with 20 % tax are 291.67 and 58.33 (HMRC: the fraction is 1/6), or 420."""
    card = changed("included = false", f"included = {included}")
    made = job(dent(1, "bonnet", [15, 50], material=None), dent(2, "roof", 400), discount_percent=5)
    made.hand_prices[None] = HandPrice(350, taxed, "")
    estimate = price_job(made, card)
    assert estimate.confirmed
    figures = (str(estimate.net.low), str(estimate.tax.low), str(estimate.total.high))
    assert figures == (("291.67", "58.33", "350.00") if taxed else ("350.00", "70.00", "420.00"))
    counting = [line.amount for line in estimate.lines if line.amount is not None and line.counts]
    assert sum((amount.low for amount in counting), D(0)) == estimate.total.low
    assert sum((amount.high for amount in counting), D(0)) == estimate.total.high
    (agreed,) = lines(estimate, "agreed")
    assert "350.00" in agreed.text


def test_free_lines_are_charged_as_named_and_not_discounted() -> None:
    made = job(dent(1, "roof", 100), discount_percent=10)
    made.extras = [Extra("a", "left mirror glass", D("31.50")), Extra("b", "travel", 12)]
    estimate = price_job(made, CARD)
    assert [line.text for line in lines(estimate, "extra")] == ["left mirror glass", "travel"]
    assert estimate.net == Range.of(D("85.00") - D("8.50") + D("43.50"))
    alone = job()
    alone.extras = made.extras
    assert price_job(alone, CARD).net == Range.of(D("43.50"))
