"""Panels, ends and sides."""

from __future__ import annotations

import pytest

from voicelog.grammar import Network
from voicelog.meaning.note import SlotValue
from voicelog.meaning.place import WIDE, Place, may_be_one, missing_place, place_of, place_troubles
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.vocabulary import PANELS

# Vienna Convention practice; which side each country drives on is general knowledge, from memory.
LEFT_HAND_TRAFFIC = ("GB", "IE", "AU", "NZ", "JP", "IN", "ZA", "MT", "CY", "TH", "KE", "SG", "HK", "MY")
RIGHT_HAND_TRAFFIC = ("US", "DE", "FR", "CA", "SE", "PL", "BR", "CN", "NO", "CH", "GI")

SPOKEN = {
    "bonnet": ("bonnet", "hood"), "roof": ("roof",), "boot-lid": ("boot", "boot lid", "trunk",
    "trunk lid", "deck lid"),
    "tailgate": ("tailgate", "hatch", "lift gate", "tail gate", "liftgate"), "wing": ("wing", "fender"),
    "door": ("door",), "quarter": ("quarter", "quarter panel", "rear wing"), "sill": ("sill", "rocker",
    "rocker panel"),
    "roof-rail": ("roof rail", "cant rail"), "pillar-a": ("a pillar",), "pillar-b": ("b pillar",),
    "pillar-c": ("c pillar",), "pillar-d": ("d pillar",), "bumper": ("bumper",),
    "sliding-door": ("sliding door",),
    "bed-side": ("bed side", "bedside"), "fuel-flap": ("fuel flap", "fuel door"),
}  # fmt: skip


def test_every_panel_of_the_vocabulary_is_spoken_here() -> None:
    assert set(SPOKEN) == set(PANELS)


@pytest.mark.parametrize(("panel", "words"), [(panel, words) for panel in SPOKEN for words in SPOKEN[panel]])
def test_british_and_american_panel_names(panel: str, words: str, network: Network) -> None:
    for side in ("left", "right") if PANELS[panel].sides else ("",):
        note = understand(f"{side} {words} forty mil", Region("GB"), network)
        expected = {"panel": panel, "length_mm": 40} | ({"side": side} if side else {})
        assert note.values() == expected
        assert not note.troubles


@pytest.mark.parametrize("country", LEFT_HAND_TRAFFIC)
def test_driver_and_offside_are_right_where_traffic_keeps_left(country: str, network: Network) -> None:
    for words, side in (
        ("offside", "right"),
        ("driver side", "right"),
        ("nearside", "left"),
        ("passenger side", "left"),
    ):
        assert understand(words, Region(country), network).slots["side"].value == side


@pytest.mark.parametrize("country", RIGHT_HAND_TRAFFIC)
def test_driver_and_offside_are_left_where_traffic_keeps_right(country: str, network: Network) -> None:
    for words, side in (
        ("offside", "left"),
        ("driver's side", "left"),
        ("nearside", "right"),
        ("passenger side", "right"),
    ):
        assert understand(words, Region(country), network).slots["side"].value == side


@pytest.mark.parametrize("panel", [name for name in PANELS if not PANELS[name].sides and name in WIDE])
def test_a_wide_panel_that_exists_once_has_two_halves(panel: str, network: Network) -> None:
    note = understand(f"left {SPOKEN[panel][0]}", Region("GB"), network)
    assert not note.troubles
    assert note.values() == {"panel": panel, "side": "left"}


@pytest.mark.parametrize("panel", [name for name in PANELS if not PANELS[name].sides and name not in WIDE])
def test_other_panels_that_exist_once_refuse_a_side(panel: str, network: Network) -> None:
    note = understand(f"left {SPOKEN[panel][0]}", Region("GB"), network)
    assert [trouble.slot for trouble in note.troubles] == ["side"]
    assert "has no left and right" in note.troubles[0].reason


@pytest.mark.parametrize("panel", [name for name, panel in PANELS.items() if panel.sides])
def test_panels_that_exist_twice_miss_their_side(panel: str, network: Network) -> None:
    note = understand(f"{SPOKEN[panel][0]} forty mil", Region("GB"), network)
    assert not note.troubles
    assert "side" in missing_place(place_of(note.slots))


@pytest.mark.parametrize(
    ("words", "missing"),
    [
        ("door", ("end", "side")),
        ("front door", ("side",)),
        ("bumper", ("end",)),
        ("roof", ()),
        ("forty mil", ("panel",)),
    ],
)
def test_what_is_still_to_be_said(words: str, missing: tuple[str, ...], network: Network) -> None:
    assert missing_place(place_of(understand(words, Region("GB"), network).slots)) == missing


def test_a_wing_at_the_rear_is_the_quarter(network: Network) -> None:
    for words in ("rear left wing", "left rear wing", "rear wing left", "left rear fender"):
        note = understand(words, Region("GB"), network)
        assert note.slots["panel"].value == "quarter"
        assert note.slots["side"].value == "left"


@pytest.mark.parametrize("words", ["front quarter left", "rear bonnet", "front tailgate"])
def test_a_panel_at_the_wrong_end_is_a_trouble(words: str, network: Network) -> None:
    assert [trouble.slot for trouble in understand(words, Region("GB"), network).troubles] == ["end"]


def test_places_put_together_from_pieces_are_checked_too() -> None:
    slots = {"panel": SlotValue("fuel-flap"), "side": SlotValue("left")}
    assert place_troubles(slots)[0].reason == "fuel flap has no left and right"


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (("bonnet", "front", None), ("bonnet", None, None), True),
        (("door", "rear", None), ("door", None, "left"), True),
        (("door", "rear", "left"), ("door", "front", "left"), False),
        (("roof", None, "left"), ("roof", None, "right"), True),  # a roof exists once
        ((None, None, "left"), ("door", None, "left"), False),
    ],
)
def test_whether_two_places_may_be_the_same_panel(one: Place, other: Place, same: bool) -> None:
    assert may_be_one(one, other) is may_be_one(other, one) is same
