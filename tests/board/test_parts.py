"""Letters, plan, themes, words and typed values: the parts that need no screen."""

from __future__ import annotations

from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.board.live.car_plan import plan
from voicelog.board.review.typed import number
from voicelog.board.themes import DARK, LIGHT, Theme
from voicelog.board.widgets import letters
from voicelog.board.widgets.bars import Bar, chart
from voicelog.board.widgets.big_text import broken
from voicelog.board.widgets.level_meter import bar, word_for
from voicelog.board.words import Wording
from voicelog.errors import VoicelogError
from voicelog.estimate.estimate import Range
from voicelog.jobs.records import Dent, Field
from voicelog.meaning.note import SlotValue
from voicelog.meaning.region import Region
from voicelog.meaning.wording import span
from voicelog.session.reports import Level
from voicelog.vocabulary import CHOICES, PANELS


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it, 1 to 21."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_formula_gives_the_published_extremes() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21:1, a colour on itself 1:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=lambda theme: theme.name)
def test_texts_have_the_contrast_of_level_aaa(theme: Theme) -> None:
    """WCAG 2.2, success criterion 1.4.6: at least 7:1."""
    variables = theme.variables
    grounds = [theme.background, theme.surface, theme.panel]
    texts = [theme.foreground, theme.success, theme.accent, variables["board-dim"]]
    pairs = [(text, ground) for text in texts for ground in grounds]
    pairs += [
        (variables["board-on-bright"], bright)
        for bright in (theme.primary, theme.accent, theme.error, theme.warning)
    ]
    poor = {
        pair: round(contrast(str(pair[0]), str(pair[1])), 2)
        for pair in pairs
        if contrast(str(pair[0]), str(pair[1])) < 7
    }
    assert poor == {}


def test_letters_for_everything_the_board_says() -> None:
    names = [*PANELS, *CHOICES["depth"], *CHOICES["side"], *CHOICES["end"]]
    money = ["£1,234.56–£2,000.00", "$1,234.00", "€1.234,00", "¥1,235"]
    for text in [*(name.replace("-", " ") for name in names), *money, "● listening", "45 × 30 mm", "1:23:45"]:
        assert letters.can_draw(text), text


def test_no_two_letters_look_alike() -> None:
    drawn = letters.letters()
    # 0 and O are told apart by where they stand: figures in amounts, letters in words.
    same = [(one, other) for one, other in combinations(drawn, 2) if drawn[one] == drawn[other]]
    assert same == [("O", "0")]


@settings(deadline=None, max_examples=60)
@given(st.text(alphabet=[*letters.letters(), " "], min_size=1, max_size=12), st.sampled_from(letters.SCALES))
def test_drawing_has_the_size_it_announces(text: str, scale: int) -> None:
    rows = letters.draw(text, scale)
    assert len(rows) == letters.rows_at(scale)
    assert {len(row) for row in rows} == {letters.columns_of(text, scale)}


def test_a_pixel_is_a_quarter_of_a_cell() -> None:
    # Unicode "Block Elements": U+2588 is the full block, U+2580 the upper half.
    assert letters.draw("■")[0] == "▄▄▄▄"
    assert letters.draw("I") == ["█", "█", "█", "▀"]


def test_lines_break_where_both_are_shortest() -> None:
    assert list(broken("rear right door", 2)) == [("rear right door",), ("rear", "right door")]
    assert list(broken("roof", 2)) == [("roof",)]


def placed(number: int, count: int | None = None, **place: str) -> Dent:
    """A dent at a place."""
    slots = {**place, **({"count": count} if count else {})}
    return Dent(number, {name: Field(SlotValue(value)) for name, value in slots.items()})


def all_places() -> list[Dent]:
    """A dent on every panel there is, on each end and side it has."""
    places = [
        {"panel": panel.name, **({"end": end} if end else {}), **({"side": side} if side else {})}
        for panel in PANELS.values()
        for end in (panel.ends or ("",))
        for side in (("left", "right") if panel.sides else ("",))
    ]
    return [placed(at, **place) for at, place in enumerate(places, 1)]


@pytest.mark.parametrize("large", [False, True])
def test_plan_never_loses_a_dent(large: bool) -> None:
    dents = [*all_places(), placed(99, 22, panel="roof"), placed(100)]
    drawn = plan(dents, 99, Wording(), large=large)
    shown = sum(block.dents for block in drawn.blocks) + sum(number for _, number in drawn.elsewhere)
    assert shown == len(dents) - 1 + 22
    assert [block.panel for block in drawn.blocks if block.is_open] == ["roof"]
    assert ("panel not said", 1) in drawn.elsewhere


@pytest.mark.parametrize("large", [False, True])
def test_blocks_of_the_plan_do_not_overlap_and_left_is_left(large: bool) -> None:
    drawn = plan(all_places(), None, Wording(), large=large)
    cells = [
        (block.x + dx, block.y + dy)
        for block in drawn.blocks for dx in range(block.width) for dy in range(block.height)
    ]  # fmt: skip
    assert len(cells) == len(set(cells))
    assert all(x < drawn.width and y < drawn.height for x, y in cells)
    left = plan([placed(1, panel="wing", side="left")], 1, Wording(), large=large)
    assert next(block.x for block in left.blocks if block.is_open) < drawn.width / 2


def test_trade_words_follow_the_region() -> None:
    america = Wording(Region("US"))
    labels = {block.label for block in plan([], None, america).blocks}
    assert {"hood", "fender", "trunk"} <= labels
    assert america.place(("quarter", "rear", "left")) == "left quarter panel"
    assert Wording().place(("door", "rear", "right")) == "rear right door"
    assert Wording().place(("wing", "front", "left")) == "left wing"


def test_money_and_lengths_for_the_eye() -> None:
    assert Wording().range(Range(Decimal("1000"), Decimal("1070")), "GBP") == "£1,000.00–£1,070.00"
    assert Wording().range(Range.of(Decimal("90")), "GBP") == "£90.00"
    # 1 inch is 25.4 mm exactly (NIST, SI Units: Length).
    assert Wording(units="inch").value("length_mm", Decimal("25.4")) == "1 in"
    assert Wording().choices("length_mm", (50, 15)) == "50 or 15 mm"
    assert span(3723.9, "screen") == "1:02:03"


@pytest.mark.parametrize(
    ("slot", "text", "value"),
    [
        ("length_mm", "45", 45),
        ("length_mm", "4,5", Decimal("4.5")),
        ("count", "22", 22),
        ("length_mm", "1 3/4", Decimal("1.75")),
    ],
)
def test_typed_numbers(slot: str, text: str, value: object) -> None:
    assert number(slot, text, Wording()) == value


def test_typed_inches_become_millimetres() -> None:
    # NIST, SI Units: Length: 1 in = 25.4 mm exactly; 1 3/4 in = 44.45 mm.
    assert number("length_mm", "1 3/4", Wording(units="inch")) == Decimal("44.45")
    assert number("length_mm", "2", Wording(units="inch")) == Decimal("50.8")


@pytest.mark.parametrize(
    ("slot", "text"),
    [
        ("length_mm", ""),
        ("length_mm", "-3"),
        ("length_mm", "0"),
        ("count", "2.5"),
        ("length_mm", "1/0"),
        ("length_mm", "1e3"),
    ],
)
def test_typed_nonsense_is_refused_in_one_line(slot: str, text: str) -> None:
    with pytest.raises(VoicelogError) as caught:
        number(slot, text, Wording())
    assert "\n" not in caught.value.line()


@settings(deadline=None, max_examples=100)
@given(st.floats(0, 1), st.integers(4, 60))
def test_bars_have_their_length(share: float, width: int) -> None:
    drawn = bar(share, width)
    assert len(drawn) == width
    assert abs(sum(char != " " for char in drawn) - share * width) <= 1.0


def test_charts() -> None:
    drawn = chart("HOURS", [Bar("Mon", 2, "2:00"), Bar("Tue", 4, "4:00")], 30)
    lines = drawn.splitlines()
    assert [line.count("█") for line in lines[1:]] == [9, 19]
    assert chart("HOURS", [], 30).endswith("nothing yet")


@pytest.mark.parametrize(
    ("level", "word"),
    [(Level(-20), "good"), (Level(-58), "faint"), (Level(-3), "TOO LOUD"), (Level(-20, True), "TOO LOUD")],
)
def test_level_words(level: Level, word: str) -> None:
    assert word_for(level) == word
