"""Letterhead and wording: what the workshop's region asks for, and what is refused in one line."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from invented_day import NOW
from PIL import Image

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.jobs.records import State
from voicelog.papers import Letterhead, write_papers
from voicelog.papers.letterhead import letterhead_of
from voicelog.papers.wording import Words
from voicelog.settings import load_settings


def test_the_letterhead_follows_the_settings_where_the_workshop_says_nothing(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text(
        'locale = "en_US"\n[workshop]\nname = "Sample"\nunits = "inch"\nlogo = "logo.png"\n'
    )
    found = letterhead_of(load_settings(tmp_path / "settings.toml"))
    assert (found.locale, found.units, found.logo) == ("en_US", "inch", tmp_path / "logo.png")


@pytest.mark.parametrize(
    ("locale", "language", "american"),
    [("en_GB", "en-GB", False), ("en_US", "en-US", True), ("de_DE", "en", False)],
)
def test_language_and_trade_words_follow_the_locale(locale: str, language: str, american: bool) -> None:
    """Language tags by BCP 47; the texts are English whatever the way dates and money are written."""
    letterhead = Letterhead(name="Sample", locale=locale)
    assert letterhead.language == language
    assert letterhead.region.american is american


def test_a_place_names_the_end_only_where_it_tells_panels_apart() -> None:
    words = Words(Letterhead(name="Sample"))
    assert words.place(("door", "rear", "right")) == "rear right door"
    assert words.place(("wing", "front", "left")) == "left wing"
    assert words.place(("roof", None, None)) == "roof"
    assert words.place((None, None, None)) == "panel not said"


@pytest.mark.parametrize(
    ("um", "text"),
    [(142, "5.6 mils (142 µm)"), (Decimal("25.4"), "1.0 mils (25.4 µm)"), (127, "5.0 mils (127 µm)")],
)
def test_thickness_in_mils(um: Decimal | int, text: str) -> None:
    """1 mil = 25.4 µm exactly (the inch of 1959, NIST "SI Units: Length")."""
    assert Words(Letterhead(name="Sample", units="inch")).thickness(um).replace("\u00a0", " ") == text


@pytest.mark.parametrize(
    ("locale", "text"),
    [("en_GB", "62,000 miles"), ("en_US", "62,000 miles"), ("de_DE", "62.000 km")],
)
def test_the_odometer_in_the_unit_of_the_country(locale: str, text: str) -> None:
    """CLDR's unit preferences: road distances in miles in GB and US; digits grouped as CLDR has it."""
    assert Words(Letterhead(name="Sample", locale=locale)).odometer(62000).replace("\u00a0", " ") == text


def test_a_range_is_never_one_figure_and_always_low_to_high() -> None:
    words = Words(Letterhead(name="Sample"))
    assert words.range((Decimal(5), Decimal(5)), "GBP") == "£5.00"
    assert words.range((Decimal(5), Decimal(4)), "GBP") == "£4.00 – £5.00"
    assert words.range((Decimal("1234.5"), Decimal("1234.51")), "GBP") == "£1,234.50 – £1,234.51"


def test_the_logo_is_on_the_paper_and_a_false_one_is_refused(tmp_path: Path, day: State, card: Card) -> None:
    logo = tmp_path / "logo.png"
    Image.new("RGBA", (1200, 300), (10, 20, 30, 0)).save(logo)
    letterhead = Letterhead(name="Sample", logo=logo)
    (page, _) = write_papers(
        day, card, letterhead, tmp_path / "out", jobs=[day.jobs["job-1"]], which=("quote",),
        formats=("html", "pdf"), now=NOW,
    )  # fmt: skip
    assert 'alt="Logo of Sample"' in page.read_text(encoding="utf-8")
    logo.write_text("no picture")
    with pytest.raises(VoicelogError, match="cannot be read as a picture"):
        write_papers(day, card, letterhead, tmp_path / "out", now=NOW)
