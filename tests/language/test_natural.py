"""Natural talk: the data are well formed, the scorer judges as it says, and the figures do not fall."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from natural.play import Played, play
from natural.score import CATEGORIES, score
from natural.sessions import Saying, Slots, read_file, sessions

FOLDER = Path(__file__).with_name("natural")
FILES = ("tuning.jsonl", "held_out.jsonl")

LEAST_RIGHT = {"tuning.jsonl": 679, "held_out.jsonl": 174}
MOST_WRONG = {"tuning.jsonl": 5, "held_out.jsonl": 19}
MOST_LOST = {"tuning.jsonl": 28, "held_out.jsonl": 7}
"""As measured with a little room; raise the first, lower the others, never the other way round."""

_KINDS = "damage reading step time job told correction undo answer question control none"
KINDS = set(_KINDS.split())
CLOSED = {
    "panel": "bonnet roof boot-lid tailgate wing door quarter sill roof-rail pillar-a pillar-b pillar-c "
    "pillar-d bumper sliding-door bed-side fuel-flap",
    "end": "front rear",
    "side": "left right",
    "material": "steel high-strength-steel aluminium plastic composite",
    "shape": "round crease sharp bowl high",
    "depth": "shallow medium deep",
    "features": "body-line edge double-skin brace stretched paint-broken filler",
    "access": "open trim-off limited none",
    "take_off": "door-card tail-light headlight liner head-lining bumper trim mirror door-handle",
    "method": "push glue-pull lever knock-down mixed",
    "density": "light moderate heavy",
    "step": "clean warm pull push lever knock-down check-lines polish wipe",
    "tab": "round crease flat",
    "direction": "front rear left right above",
    "time": "start pause resume stop",
    "job": "new finished close-day",
    "invoice": "issue",
    "extra": "parts travel work-bought-in",
    "probe": "magnetic eddy-current",
    "quote": "give accepted declined",
    "by": "cash card transfer",
    "risk": "crease-may-show high-spots paint-may-lift texture not-fully-out edge-may-show",
    "undo": "last redo",
    "answer": "yes no",
    "question": "read-back price total time missing repeat how-long plan owed",
    "control": "stop-listening start-listening sleep wake louder quieter memo photo understood",
    "same": "panel side other-side size",
    "clear": "length_mm width_mm count material shape depth features access method",
}
_NUMBERS = """length_mm width_mm count paint_um reference_um pulls tab_mm minutes discount_percent number dent
go_to remove restore year mileage excess deposit agreed_price paid price extra_amount belongs_to"""
NUMBERS = set(_NUMBERS.split())
SAID = {"place", "tool", "glue", "customer", "insurer", "make", "model", "colour", "technician", "email"}
SPELLED = {"plate", "phone", "claim", "policy", "order", "stock"}
FLAGS = {"before", "declined", "oversize", "paid", "paid_all", "same_again", "next_dent", "hail"}


def words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9']+", text.lower())


@pytest.fixture(scope="module", params=FILES)
def file(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def sayings(file: str) -> list[Saying]:
    return read_file(FOLDER / file)


@pytest.fixture(scope="module")
def counts(sayings: list[Saying]) -> Counter[str]:
    return Counter(score(played).category for played in play(sayings))


def test_there_is_enough_of_it(sayings: list[Saying]) -> None:
    assert sum(not saying.opener for saying in sayings) >= 180
    assert KINDS - {"answer"} <= {saying.kind for saying in sayings} <= KINDS
    assert {saying.country for saying in sayings} == {"GB", "IE", "US", "CA", "AU", "NZ", "ZA"}


def test_every_session_stands_together_and_begins_with_its_opener(sayings: list[Saying]) -> None:
    found = list(sessions(sayings))
    assert [session[0].session for session in found] == list(range(1, len(found) + 1))
    for session in found:
        assert session[0].opener
        assert not any(saying.opener for saying in session[1:])
        assert len({saying.country for saying in session}) == 1


def test_kinds_tiers_slots_and_values_are_canonical(sayings: list[Saying]) -> None:
    for saying in sayings:
        assert saying.tier in {"core", "natural", "stretch"}, saying.say
        for kind, slots in saying.readings:
            assert kind in KINDS, saying.say
            assert [name for name, value in slots.items() if not canonical(name, value, saying.say)] == []


def canonical(name: str, value: Any, said: str) -> bool:
    """Whether a slot may hold a value; free words have to be words of the utterance."""
    if value is True:
        return name in FLAGS
    if name in CLOSED:
        given = value if isinstance(value, list) else [value]
        return bool(given) and set(given) <= set(CLOSED[name].split())
    if name in SPELLED:
        return re.fullmatch(r"[A-Z0-9]+", value) is not None
    if name in SAID:
        return set(words(value)) <= set(words(said))
    return name in NUMBERS and isinstance(value, int | float) and not isinstance(value, bool)


def test_what_has_to_be_kept_was_said(sayings: list[Saying]) -> None:
    for saying in sayings:
        for part in saying.keep:
            assert part.lower() in saying.say.lower()


def test_a_question_is_allowed_for_some_only(sayings: list[Saying]) -> None:
    assert sum(saying.ask_ok for saying in sayings) <= len(sayings) * 0.36


def test_nothing_is_said_twice_within_or_between_the_files() -> None:
    said = [" ".join(words(s.say)) for file in FILES for s in read_file(FOLDER / file) if not s.opener]
    assert [text for text, times in Counter(said).items() if times > 1] == []


def test_the_figures_do_not_fall(file: str, counts: Counter[str]) -> None:
    assert counts["right"] + counts["asked"] >= LEAST_RIGHT[file], counts
    assert counts["wrong"] <= MOST_WRONG[file], counts
    assert counts["lost"] <= MOST_LOST[file], counts


def test_every_fair_reading_is_right_and_wrong_with_a_slot_that_nobody_said(sayings: list[Saying]) -> None:
    for saying in sayings:
        for kind, slots in saying.readings:
            decision = "accepted" if slots else "kept" if saying.keep else "rejected"
            taken = {"decision": decision, "kind": kind, "slots": slots, "kept": list(saying.keep)}
            if decision != "rejected":
                assert score(Played(saying, taken)).category == "right", saying.say
            extra = {**taken, "decision": "accepted", "slots": {**slots, "restore": 99}}
            assert score(Played(saying, extra)).category == "wrong", saying.say


# The scorer itself, on outcomes written by hand.

DOOR: Slots = {"panel": "door", "side": "left", "length_mm": 30}
BELOW = "left door thirty mil below the handle whale tail"


def judged(kind: str, slots: Slots, decision: str = "accepted", **given: Any) -> str:
    """The category of an outcome of `BELOW`, where `DOOR` is expected."""
    fields = {name: given.pop(name) for name in ("say", "keep", "ask_ok", "expected") if name in given}
    before, after = given.pop("before", {}), given.pop("after", {})
    saying = Saying(
        session=1,
        country="GB",
        say=fields.get("say", BELOW),
        readings=(fields.get("expected", ("damage", DOOR)),),
        keep=fields.get("keep", ()),
        ask_ok=fields.get("ask_ok", False),
    )
    outcome = {"decision": decision, "kind": kind, "slots": slots, **given}
    category = score(Played(saying, outcome, before, after)).category
    assert category in CATEGORIES
    return category


def test_what_is_expected_is_right_and_a_millimetre_is_forgiven() -> None:
    assert judged("damage", DOOR) == "right"
    assert judged("damage", {**DOOR, "length_mm": 30.9}) == "right"
    assert judged("damage", {**DOOR, "length_mm": 31.1}) == "wrong"


@pytest.mark.parametrize(
    ("kind", "slots"),
    [
        ("damage", {**DOOR, "side": "right"}),
        ("damage", {**DOOR, "shape": "crease"}),
        ("damage", {**DOOR, "end": "rear"}),
        ("step", DOOR),
        ("damage", {**DOOR, "place": "above the handle"}),
        ("damage", {**DOOR, "declined": True}),
        ("damage", {**DOOR, "clear": "shape"}),
        ("damage", {**DOOR, "count": 30}),
    ],
)
def test_a_false_value_an_unsaid_slot_or_another_kind_is_wrong(kind: str, slots: Slots) -> None:
    assert judged(kind, slots) == "wrong"


def test_what_is_lacking_is_lost_unless_words_were_kept_or_the_dent_holds_it() -> None:
    less = {"panel": "door", "side": "left"}
    assert judged("damage", less) == "lost"
    assert judged("damage", less, kept=["thirty mil"]) == "kept"
    assert judged("damage", less, after={"length_mm": 30}) == "right"
    assert judged("damage", {**DOOR, "access": "open"}, before={"access": "open"}) == "right"


def test_parts_to_keep_are_found_in_words_in_slots_of_their_own_and_nowhere_else() -> None:
    assert judged("damage", DOOR, keep=("whale tail",)) == "lost"
    assert judged("damage", DOOR, keep=("whale tail",), kept=["whale tail"]) == "right"
    assert judged("damage", {**DOOR, "tool": "whale tail"}, keep=("whale tail",)) == "right"
    assert judged("damage", {**DOOR, "side": "right"}, keep=("right",), say="right door") == "wrong"
    assert judged("damage", DOOR, keep=("whale tail",), kept=["below the handle"]) == "lost"
    assert judged("none", {}, "kept", keep=("whale tail",), kept=[BELOW]) == "kept"
    assert judged("none", {}, "kept", kept=[]) == "lost"


def test_a_question_is_sensible_where_it_is_allowed_and_asks_something_that_may_be_right() -> None:
    doubts = {"length_mm": {"value": 13, "alternatives": [30]}}
    wrong = {**DOOR, "length_mm": 13}
    assert judged("damage", DOOR, "asked", question="which?") == "bothered"
    assert judged("damage", DOOR, "asked", question="which?", ask_ok=True) == "asked"
    assert judged("damage", DOOR, "asked", question=None, ask_ok=True) == "bothered"
    assert judged("damage", wrong, "asked", question="which?", ask_ok=True) == "bothered"
    assert judged("damage", wrong, "asked", question="which?", ask_ok=True, doubts=doubts) == "asked"


def test_another_fair_reading_with_a_slot_for_it_need_not_keep_the_words() -> None:
    saying = Saying(
        1, "GB", "I told him it may crack", (("told", {}), ("told", {"risk": ["texture"]})), keep=("crack",)
    )
    taken = {"decision": "accepted", "kind": "told", "slots": {"risk": ["texture"]}}
    assert score(Played(saying, taken)).category == "right"
    assert score(Played(saying, {**taken, "slots": {}})).category == "lost"
    assert score(Played(saying, {**taken, "slots": {"risk": ["high-spots"]}})).category == "wrong"


def test_talk_to_others_has_to_be_rejected() -> None:
    others: dict[str, Any] = {"say": "mind the door", "expected": ("none", {})}
    assert judged("none", {}, "rejected", **others) == "right"
    assert judged("damage", {"panel": "door"}, **others) == "wrong"
    assert judged("none", {}, "kept", kept=["mind the door"], **others) == "kept"
    assert judged("none", {}, "rejected") == "rejected"


def test_a_remark_is_right_when_its_words_are_kept() -> None:
    remark: dict[str, Any] = {"say": "it was resprayed", "expected": ("none", {}), "keep": ("resprayed",)}
    assert judged("none", {}, "kept", kept=["it was resprayed"], **remark) == "right"
    assert judged("damage", {}, kept=["resprayed"], **remark) == "right"
    assert judged("damage", {"method": "push"}, kept=["resprayed"], **remark) == "wrong"
    assert judged("none", {}, "rejected", **remark) == "rejected"


def test_what_was_to_be_cleared_must_be_gone_from_the_dent() -> None:
    gone: dict[str, Any] = {"say": "not on the body line", "expected": ("correction", {"clear": "features"})}
    assert judged("correction", {}, after={"features": ["body-line"]}, **gone) == "lost"
    assert judged("correction", {}, after={"panel": "door"}, **gone) == "right"
