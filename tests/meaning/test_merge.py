"""Notes in pieces make one dent, in whatever order they come."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.meaning.merge import Merged, merge
from voicelog.meaning.note import Slots, SlotValue
from voicelog.vocabulary import CHOICES, LISTS

SINGLE = ("panel", "side", "depth", "material")


@st.composite
def slot_values(draw: st.DrawFn, name: str) -> SlotValue:
    if name == "length_mm":
        first, *rest = draw(st.lists(st.sampled_from([15, 50, 40, 14]), min_size=1, max_size=2, unique=True))
        return SlotValue(first, f"{first} mil", tuple(rest))
    if name in LISTS:
        chosen = set(draw(st.lists(st.sampled_from(CHOICES[name]), min_size=1, max_size=3)))
        return SlotValue(tuple(value for value in CHOICES[name] if value in chosen), " ".join(sorted(chosen)))
    value = draw(st.sampled_from(CHOICES[name][:2]))
    return SlotValue(value, value)


@st.composite
def notes(draw: st.DrawFn) -> Slots:
    names = draw(st.lists(st.sampled_from([*SINGLE, "length_mm", "features", "take_off"]), unique=True))
    return {name: draw(slot_values(name)) for name in names}


def facts(merged: Merged) -> dict[str, object]:
    return {name: (slot.value, frozenset(slot.alternatives)) for name, slot in merged.fields.items()}


@settings(max_examples=300, deadline=None)
@given(notes(), notes())
def test_two_notes_give_the_same_dent_in_either_order(one: Slots, other: Slots) -> None:
    forth = merge(merge({}, one).fields, other)
    back = merge(merge({}, other).fields, one)
    assert facts(forth) == facts(back)
    assert set(forth.conflicts) == set(back.conflicts)


@settings(max_examples=100, deadline=None)
@given(notes())
def test_saying_a_note_twice_changes_nothing(note: Slots) -> None:
    once = merge({}, note)
    again = merge(once.fields, note)
    assert facts(again) == facts(once)
    assert not again.conflicts


def test_a_second_value_is_a_conflict_and_both_are_kept() -> None:
    merged = merge({"length_mm": SlotValue(40)}, {"length_mm": SlotValue(50)})
    assert set(merged.conflicts) == {"length_mm"}
    assert {merged.fields["length_mm"].value, *merged.fields["length_mm"].alternatives} == {40, 50}


def test_a_repetition_settles_a_doubt() -> None:
    merged = merge(
        {"length_mm": SlotValue(15, "fifteen", (50,), "doubt")}, {"length_mm": SlotValue(50, "fifty")}
    )
    assert merged.fields["length_mm"] == SlotValue(50, "fifty")
    assert not merged.conflicts


def test_lists_are_united_in_the_order_of_the_vocabulary() -> None:
    merged = merge(
        {"features": SlotValue(("edge",), "edge")}, {"features": SlotValue(("body-line",), "body line")}
    )
    assert merged.fields["features"].value == ("body-line", "edge")


def test_nothing_given_is_changed() -> None:
    fields = {"depth": SlotValue("deep")}
    merge(fields, {"depth": SlotValue("shallow"), "side": SlotValue("left")})
    assert fields == {"depth": SlotValue("deep")}
