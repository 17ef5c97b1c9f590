"""Rate cards: what is refused, how it is said, and that the starting cards are sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicelog.errors import VoicelogError
from voicelog.estimate.card import (
    REGIONS,
    card_as_text,
    default_card,
    load_card,
    read_card,
    starting_card_text,
)

SMALL = """
currency = "GBP"
hourly_rate = 60.00
[base]
points = [[10, 15], [40, 35]]
"""


def problems_of(extra: str, base: str = SMALL) -> list[str]:
    with pytest.raises(VoicelogError) as caught:
        read_card(base + extra)
    return caught.value.what.split(" | ")


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ("[adders.shape]\ncreese = {percent = 4}", ["[adders.shape] creese", "mean crease?"]),
        ("[adders.colour]\nred = {percent = 4}", ["[adders] colour", "panel, material, shape"]),
        ("[adders.shape]\nround = {percent = -95}", ["[adders.shape.round] percent = -95", "equal to -90"]),
        ("[adders.shape]\nround = {pct = 5}", ["[adders.shape.round] pct = 5", "percent, minutes"]),
        ("[several]\nsecond_percent = -5", ["[several] second_percent = -5", "equal to 0"]),
        ("[several]\nsecond_percent = 4\nfurther_percent = 6", ["further_percent = 6", "to second_percent"]),
        ("[several]\ncap_minutes = 0", ["cap_minutes = 0", "greater than 0"]),
        ("[take_off]\ndoor_card = 5", ["[take_off] door_card", "did you mean door-card?"]),
        ("[tax]\npercent = 120", ["[tax] percent = 120", "equal to 100"]),
        ("[tax]\npercent = true", ["[tax] percent = true", "a number"]),
        ("[tax]\npercent = '20'", ['[tax] percent = "20"', "a number"]),
        ("[tax]\nincluded = 1", ["[tax] included = 1", "true or false"]),
        ("[tax]\nname = 1", ["[tax] name = 1", "a text"]),
        ("[tax]\nname = ' '", ['[tax] name = " "', "a text in one line"]),
        ("[charges]\nminimum = 1.005", ["minimum = 1.005", "at most 2 decimals"]),
        ("[charges]\nminimun = 1", ["[charges] minimun = 1", "did you mean minimum?"]),
        ("[paint]\nthick_above_um = 300\nfiller_above_um = 200", ["filler_above_um = 200", "may not fall"]),
        ("[width]\npercent = 5", ["[width] over_percent is missing"]),
        ("[refusals.material]\nplastic = 4", ["[refusals.material] plastic = 4", "a text"]),
        ("[refusals.material]\nglass = 'x'", ["[refusals.material] glass", "steel"]),
        ("[adders]\nshape = 5", ["[adders] shape = 5", "a table"]),
    ],
)  # fmt: skip
def test_a_problem_names_table_key_value_and_what_is_allowed(extra: str, words: list[str]) -> None:
    lines = problems_of(extra)
    assert len(lines) == 1
    for word in words:
        assert word in lines[0]


@pytest.mark.parametrize(
    ("points", "shown"),
    [
        ("[[10, 15], [10, 16]]", "[10, 15] then [10, 16]"),
        ("[[10, 15], [20, 14]]", "[10, 15] then [20, 14]"),
        ("[[10, 15]]", "at least 2 pairs"),
        ("[[10, 15], [20, 'x']]", '[base] points[1][1] = "x"'),
        ("[[0, 15], [20, 20]]", "[base] points[0][0] = 0: should be greater than 0"),
        ("[[10, -1], [20, 20]]", "[base] points[0][1] = -1"),
        ("[[10, nan], [20, 20]]", "points[0][1] = NaN"),
    ],
)
def test_the_base_table_must_rise(points: str, shown: str) -> None:
    text = f'currency = "GBP"\nhourly_rate = 60\n[base]\npoints = {points}\n'
    lines = problems_of("", text)
    assert len(lines) == 1
    assert shown in lines[0]


def test_all_problems_are_found_at_once() -> None:
    text = 'currency = "GPB"\nhourly_rat = 60\n[base]\npoints = []\n[tax]\npercent = -1\n'
    lines = problems_of("", text)
    for start in (
        'currency = "GPB"',
        "hourly_rate is missing",
        "hourly_rat = 60",
        "[base] points",
        "[tax] percent = -1",
    ):
        assert any(line.startswith(start) for line in lines)
    assert any("did you mean GBP?" in line for line in lines)
    assert len(lines) == 5


def test_reductions_may_not_eat_the_base_up() -> None:
    extra = "[adders.shape]\nbowl = {percent = -60}\n[adders.depth]\nshallow = {percent = -40}\n"
    assert "stay above -100" in problems_of(extra)[0]


def test_a_card_that_is_no_toml_or_no_file(tmp_path: Path) -> None:
    bad = tmp_path / "card.toml"
    bad.write_text("currency = \n")
    with pytest.raises(VoicelogError, match="not TOML") as caught:
        load_card(bad)
    assert "\n" not in caught.value.line()
    with pytest.raises(VoicelogError, match="No such file"):
        load_card(tmp_path / "none.toml")
    bad.write_bytes(b"name = '\xff'")
    with pytest.raises(VoicelogError, match="UTF-8"):
        load_card(bad)


def test_the_hash_is_that_of_the_text(tmp_path: Path) -> None:
    """Source: SHA-256 of the file as `sha256sum` prints it, here of the SMALL text above."""
    path = tmp_path / "card.toml"
    path.write_text(SMALL, encoding="utf-8")
    card = load_card(path)
    assert card.hash == "961dc3459989949ed5acdbed7eadf5f123ff77eba3582a8e9fd4dd0f2be1e022"
    path.write_text(SMALL + "# a note\n", encoding="utf-8")
    assert load_card(path).hash != card.hash


@pytest.mark.parametrize("region", sorted(REGIONS))
def test_starting_cards_are_valid(region: str) -> None:
    card = default_card(region)
    assert card.currency == {"GB": "GBP", "US": "USD"}.get(region, "EUR")
    assert card.text == starting_card_text(region)


def test_an_unknown_region_is_refused_with_what_there_is() -> None:
    with pytest.raises(VoicelogError, match="GB, US, EU"):
        starting_card_text("XX")


def test_a_card_as_text_has_every_figure() -> None:
    text = card_as_text(default_card("US"), "en_US")
    for words in ("$80.00", "hood", "aluminum", "+40 %", "priced by hand", "Sales tax"):
        assert words in text
