"""Every row of what can be said, and how a sentence may correct itself."""

from __future__ import annotations

import time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.grammar import Network
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.meaning.understand_hypothesis import understand_hypothesis
from voicelog.recognition.hypothesis import Hypothesis

WORDS = [
    "rear",
    "left",
    "door",
    "forty",
    "five",
    "fifteen",
    "mil",
    "inch",
    "no",
    "hundred",
    "and",
    "a",
    "quarter",
    "by",
    "dents",
    "deep",
    "paint",
    "pull",
    "dent",
]

ROWS: list[tuple[str, str, dict[str, Any]]] = [
    ("rear right door steel forty five mil shallow push", "damage",
     {"panel": "door", "end": "rear", "side": "right", "material": "steel",
     "length_mm": 45, "depth": "shallow",
      "method": "push"}),
    ("back left door", "damage", {"end": "rear", "side": "left", "panel": "door"}),
    ("steel", "damage", {"material": "steel"}),
    ("high strength steel", "damage", {"material": "high-strength-steel"}),
    ("aluminium", "damage", {"material": "aluminium"}),
    ("aluminum", "damage", {"material": "aluminium"}),
    ("alloy", "damage", {"material": "aluminium"}),
    ("plastic", "damage", {"material": "plastic"}),
    ("composite", "damage", {"material": "composite"}),
    ("twenty two dents", "damage", {"count": 22}),
    ("round", "damage", {"shape": "round"}),
    ("crease", "damage", {"shape": "crease"}),
    ("sharp", "damage", {"shape": "sharp"}),
    ("bowl", "damage", {"shape": "bowl"}),
    ("soft", "damage", {"shape": "bowl"}),
    ("wide", "damage", {"shape": "bowl"}),
    ("high", "damage", {"shape": "high"}),
    ("crown", "damage", {"shape": "high"}),
    ("raised spot", "damage", {"shape": "high"}),
    ("shallow", "damage", {"depth": "shallow"}),
    ("medium", "damage", {"depth": "medium"}),
    ("deep", "damage", {"depth": "deep"}),
    ("body line", "damage", {"features": ["body-line"]}),
    ("swage line", "damage", {"features": ["body-line"]}),
    ("style line", "damage", {"features": ["body-line"]}),
    ("edge", "damage", {"features": ["edge"]}),
    ("double skin", "damage", {"features": ["double-skin"]}),
    ("behind a brace", "damage", {"features": ["brace"]}),
    ("stretched", "damage", {"features": ["stretched"]}),
    ("paint broken", "damage", {"features": ["paint-broken"]}),
    ("filler", "damage", {"features": ["filler"]}),
    ("open", "damage", {"access": "open"}),
    ("trim off", "damage", {"access": "trim-off"}),
    ("trim off door card", "damage", {"access": "trim-off", "take_off": ["door-card"]}),
    ("trim off tail light", "damage", {"access": "trim-off", "take_off": ["tail-light"]}),
    ("trim off liner", "damage", {"access": "trim-off", "take_off": ["liner"]}),
    ("trim off head lining", "damage", {"access": "trim-off", "take_off": ["head-lining"]}),
    ("trim off bumper", "damage", {"access": "trim-off", "take_off": ["bumper"]}),
    ("limited access", "damage", {"access": "limited"}),
    ("no access", "damage", {"access": "none"}),
    ("glue pull", "damage", {"method": "glue-pull"}),
    ("method push", "damage", {"method": "push"}),
    ("method lever", "damage", {"method": "lever"}),
    ("method knock down", "damage", {"method": "knock-down"}),
    ("mixed", "damage", {"method": "mixed"}),
    ("paint one four two", "reading", {"paint_um": 142}),
    ("reference one three eight", "reading", {"reference_um": 138}),
    ("clean", "step", {"step": "clean"}),
    ("warm", "step", {"step": "warm"}),
    ("pull three twenty mil crease tab", "step", {"step": "pull", "pulls": 3, "tab_mm": 20, "tab": "crease"}),
    ("push", "step", {"step": "push"}),
    ("lever", "step", {"step": "lever"}),
    ("knock down", "step", {"step": "knock-down"}),
    ("check lines from the left", "step", {"step": "check-lines", "direction": ["left"]}),
    ("check lines from above", "step", {"step": "check-lines", "direction": ["above"]}),
    ("polish", "step", {"step": "polish"}),
    ("wipe", "step", {"step": "wipe"}),
    ("start work", "time", {"time": "start"}),
    ("pause", "time", {"time": "pause"}),
    ("resume", "time", {"time": "resume"}),
    ("stop work", "time", {"time": "stop"}),
    ("new job", "job", {"job": "new"}),
    ("plate alfa bravo one two charlie delta echo", "job", {"plate": "AB12CDE"}),
    ("customer told", "told", {}),
    ("customer told crease may show", "told", {"risk": ["crease-may-show"]}),
    ("crease may show", "damage", {"risk": ["crease-may-show"]}),
    ("job finished", "job", {"job": "finished"}),
    ("close the day", "job", {"job": "close-day"}),
    ("quote accepted", "job", {"quote": "accepted"}),
    ("quote declined", "job", {"quote": "declined"}),
    ("give quote", "job", {"quote": "give"}),
    ("discount five percent", "job", {"discount_percent": 5}),
    ("correct length fifty mil", "correction", {"length_mm": 50}),
    ("correct dent two length fifty", "correction", {"dent": 2, "length_mm": 50}),
    ("correct side left", "correction", {"side": "left"}),
    ("correct panel rear left door", "correction", {"panel": "door", "end": "rear", "side": "left"}),
    ("correct material aluminium", "correction", {"material": "aluminium"}),
    ("correct shape round", "correction", {"shape": "round"}),
    ("correct access trim off door card", "correction", {"access": "trim-off", "take_off": ["door-card"]}),
    ("correct trim off door card", "correction", {"access": "trim-off", "take_off": ["door-card"]}),
    ("correct method push", "correction", {"method": "push"}),
    ("correct count thirty", "correction", {"count": 30}),
    ("correct body line", "correction", {"features": ["body-line"]}),
    ("scratch that", "undo", {"undo": "last"}),
    ("put that back", "undo", {"undo": "redo"}),
    ("go to dent three", "correction", {"go_to": 3}),
    ("remove dent two", "correction", {"remove": 2}),
    ("restore dent two", "correction", {"restore": 2}),
    ("yes", "answer", {"answer": "yes"}),
    ("no", "answer", {"answer": "no"}),
    ("one five", "answer", {"number": 15}),
    ("read back", "question", {"question": "read-back"}),
    ("price", "question", {"question": "price"}),
    ("total", "question", {"question": "total"}),
    ("time", "question", {"question": "time"}),
    ("what is missing", "question", {"question": "missing"}),
    ("stop listening", "control", {"control": "sleep"}),
    ("start listening", "control", {"control": "wake"}),
    ("louder", "control", {"control": "louder"}),
    ("quieter", "control", {"control": "quieter"}),
    ("memo", "control", {"control": "memo"}),
    ("photo", "control", {"control": "photo"}),
    ("understood", "control", {"control": "understood"}),
    ("next dent", "damage", {"next_dent": True}),
    ("belongs to dent one", "damage", {"belongs_to": 1}),
    ("same again on the right", "damage", {"same_again": True, "side": "right"}),
]  # fmt: skip


@pytest.mark.parametrize(("words", "kind", "slots"), ROWS)
def test_every_row_of_what_can_be_said(
    words: str, kind: str, slots: dict[str, Any], network: Network
) -> None:
    note = understand(words, Region("GB"), network)
    assert (note.kind, note.values()) == (kind, slots)
    assert bool(note.troubles) is (kind == "none")


def test_the_order_of_slots_does_not_matter(network: Network) -> None:
    pieces = ["rear", "right", "door", "steel", "forty five mil", "shallow", "push"]
    expected = understand(" ".join(pieces), Region("GB"), network).values()
    for turn in range(1, len(pieces)):
        turned = pieces[turn:] + pieces[:turn]
        assert understand(" ".join(turned), Region("GB"), network).values() == expected
    assert understand(" ".join(reversed(pieces)), Region("GB"), network).values() == expected


def test_every_slot_keeps_its_words(network: Network) -> None:
    note = understand("hood one ten mil trim off head lining", Region("GB"), network)
    assert note.slots["panel"].words == "hood"
    assert note.slots["length_mm"].words == "one ten mil"
    assert note.slots["take_off"].words == "head lining"


def test_not_said_is_not_none(network: Network) -> None:
    assert "access" not in understand("roof forty mil", Region("GB"), network).slots
    assert understand("roof no access", Region("GB"), network).slots["access"].value == "none"


@pytest.mark.parametrize(
    ("words", "slots"),
    [
        ("forty no fifty mil", {"length_mm": 50}),
        ("forty mil no fifty mil shallow", {"length_mm": 50, "depth": "shallow"}),
        ("left no right wing", {"side": "right", "panel": "wing"}),
        ("driver door no rear left door", {"side": "left", "end": "rear", "panel": "door"}),
        ("forty by thirty mil no fifty by twenty mil", {"length_mm": 50, "width_mm": 20}),
        ("roof twenty dents make that thirty dents", {"panel": "roof", "count": 30}),
        ("edge sorry body line", {"features": ["body-line"]}),
        ("brace edge i mean body line", {"features": ["body-line", "brace"]}),
    ],
)
def test_self_corrections_in_one_breath(words: str, slots: dict[str, Any], network: Network) -> None:
    note = understand(words, Region("GB"), network)
    assert (note.kind, note.values(), note.troubles) == ("damage", slots, ())


def test_a_second_value_never_overwrites_in_silence(network: Network) -> None:
    slot = understand("forty mil fifty mil", Region("GB"), network).slots["length_mm"]
    assert {slot.value, *slot.alternatives} == {40, 50}
    assert slot.doubt


@pytest.mark.parametrize(
    "words",
    ["forty mil no", "steel no deep", "ten ten", "twenty twelve", "no forty", "roof 5/9 inch", "roof <40 mm"],
)
def test_what_is_unclear_is_kept_as_words_or_asked_about(words: str, network: Network) -> None:
    note = understand(words, Region("GB"), network)
    assert note.kind in ("none", "answer") or note.troubles


@pytest.mark.parametrize(
    ("words", "slots", "denied"),
    [
        ("no crease", {}, {"shape": "crease"}),
        ("no filler", {}, {"features": ("filler",)}),
        ("no behind a brace", {}, {"features": ("brace",)}),
        ("edge no paint broken", {"features": ["edge"]}, {"features": ("paint-broken",)}),
        ("no trim off", {}, {"access": "trim-off"}),
        ("no push", {}, {"method": "push"}),
        ("it's steel, not aluminium", {"material": "steel"}, {"material": "aluminium"}),
        ("forty mil, not on the body line", {"length_mm": 40}, {"features": ("body-line",)}),
    ],
)
def test_negation_takes_away_and_never_adds(
    words: str, slots: dict[str, object], denied: dict[str, object], network: Network
) -> None:
    note = understand(words, Region("GB"), network)
    assert note.values() == slots
    assert {name: slot.value for name, slot in note.denied.items()} == denied


def test_a_lone_number_is_an_answer_and_may_be_a_length(network: Network) -> None:
    note = understand("one five", Region("GB"), network)
    assert (note.readings[0].kind, note.readings[0].values()) == ("damage", {"length_mm": 15})


def test_a_lone_push_is_a_step_and_may_be_a_method(network: Network) -> None:
    note = understand("push", Region("GB"), network)
    assert (note.readings[0].kind, note.readings[0].values()) == ("damage", {"method": "push"})


@pytest.mark.parametrize("words", ["", "   ", "banana", "the weather is fine today", "rear right"])
def test_words_that_are_no_note(words: str, network: Network) -> None:
    note = understand(words, Region("GB"), network)
    if words == "rear right":
        assert note.kind == "damage"
    else:
        assert note.kind == "none"
        assert note.troubles


def test_typed_signs_and_figures(network: Network) -> None:
    note = understand("Boot-lid, 45mm × 30mm; shallow!", Region("GB"), network)
    assert note.values() == {"panel": "boot-lid", "length_mm": 45, "width_mm": 30, "depth": "shallow"}


@pytest.mark.parametrize(
    ("typed", "slot", "value"),
    [
        ("roof 1/2 inch", "length_mm", Decimal("12.7")),
        ("roof 4 1/2 inches", "length_mm", Decimal("114.3")),
        ('roof 2 3/4"', "length_mm", Decimal("69.85")),
        ("roof 4.5 cm", "length_mm", 45),
        ("roof 4,5 cm", "length_mm", 45),
        ("roof 1,200 mm", "length_mm", 1200),
        ("paint 142", "paint_um", 142),
        ("roof 22 dents", "count", 22),
        ("discount 5%", "discount_percent", 5),
    ],
)
def test_typed_figures(typed: str, slot: str, value: object, network: Network) -> None:
    assert understand(typed, Region("GB"), network).slots[slot].value == value


@pytest.mark.parametrize("typed", ["roof 5/9 inch", "roof <40 mm", "roof 40 + 5 mm"])
def test_typed_signs_of_another_meaning_are_not_dropped(typed: str, network: Network) -> None:
    assert understand(typed, Region("GB"), network).kind == "none"


def test_a_small_size_before_deep_may_be_the_depth(network: Network) -> None:
    assert understand("roof five mil deep", Region("GB"), network).slots["length_mm"].doubt
    assert not understand("roof forty mil deep", Region("GB"), network).slots["length_mm"].doubt
    assert not understand("roof eight mil depth deep", Region("GB"), network).slots["length_mm"].doubt


@settings(max_examples=200, deadline=None)
@given(st.one_of(st.text(max_size=60), st.lists(st.sampled_from(WORDS), max_size=12).map(" ".join)))
def test_no_text_breaks_it(network: Network, text: str) -> None:
    note = understand_hypothesis(Hypothesis(text, 0.5, engine="test"), Region("GB"), network)
    assert note.kind != "none" or note.troubles


def test_understanding_takes_a_few_milliseconds(network: Network) -> None:
    words = (
        "er rear right door steel forty five by thirty mil shallow on the body line trim off door card push"
    )
    understand(words, Region("GB"), network)
    start = time.perf_counter()
    for _ in range(10):
        understand(words, Region("GB"), network)
    assert (time.perf_counter() - start) / 10 < 0.05
