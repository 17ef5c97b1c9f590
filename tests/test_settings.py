"""The settings file: what it may hold, and every mistake in it told at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from babel import Locale
from babel.numbers import get_territory_currencies

from tests.estimate.making import dent, job
from voicelog.errors import VoicelogError
from voicelog.estimate.card import default_card
from voicelog.estimate.card.start import REGIONS
from voicelog.estimate.pricing.price import price_job
from voicelog.meaning.region import Region
from voicelog.settings import Settings, load_settings

TERRITORIES = sorted(
    code for code in Locale("en").territories if len(code) == 2 and get_territory_currencies(code)
)


def loaded(folder: Path, text: str) -> Settings:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return load_settings(file)


def test_what_is_not_written_has_its_default(tmp_path: Path) -> None:
    given = loaded(tmp_path, 'country = "US"\n[listening]\nvolume = 1\n')
    assert given == Settings(country="US", listening=given.listening)
    assert given.listening.volume == 1
    assert given.listening.keep_clips_days == 30


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('county = "GB"', "county"),
        ("listening = 5", "listening = 5: should be a table"),
        ("[listening]\nkeep_clips_days = -5", "keep_clips_days = -5: should be greater than or equal to 1"),
        ("[listening]\nvolume = 7", "volume = 7: should be less than or equal to 1"),
        ("[listening]\nsilence_s = true", "silence_s = true: should be a number"),
        ('country = "UK"', "should be a country by ISO 3166"),
        ('locale = "xx_YY"', "should be a locale"),
        ('[workshop]\npaper = "A3"', "'A4' or 'Letter'"),
        ('[workshop]\nunits = "furlong"', "'mm' or 'inch'"),
        ('[workshop]\ntimezone = "Europe/Nowhere"', "should be a time zone"),
        ('[workshop]\ntimezone = "../etc/passwd"', "should be a time zone"),
        ("[workshop]\naddress = 5", "should be a list"),
    ],
)
def test_what_cannot_be_used_is_said_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(VoicelogError) as caught:
        loaded(tmp_path, text)
    assert said in caught.value.line()
    assert "\n" not in caught.value.line()


def test_every_mistake_is_told_with_the_nearest_known_name(tmp_path: Path) -> None:
    with pytest.raises(VoicelogError) as caught:
        loaded(tmp_path, 'contry = "GB"\n[listening]\nvolum = 0.5\n[workshop]\npayment_days = -1')
    line = caught.value.line()
    assert "did you mean country?" in line
    assert "did you mean volume?" in line
    assert "payment_days = -1" in line


def test_an_address_may_be_written_in_one_text(tmp_path: Path) -> None:
    assert loaded(tmp_path, '[workshop]\naddress = "Street 1"').workshop.address == ("Street 1",)
    lines = loaded(tmp_path, '[workshop]\naddress = """\nStreet 1\nTown"""').workshop.address
    assert lines == ("Street 1", "Town")


def test_the_example_of_the_readme_can_be_used(tmp_path: Path) -> None:
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    block = readme.partition("### Settings")[2].partition("\n#")[0]
    example = "\n".join(line[4:] for line in block.splitlines() if line.startswith("    "))
    assert loaded(tmp_path, example).workshop.name == "Your workshop"


@pytest.mark.parametrize("country", TERRITORIES)
def test_every_country_starts_with_a_card_in_its_currency(country: str) -> None:
    """Source: CLDR's territories and the currencies in use there (babel)."""
    given = Settings(country=country)
    card = default_card(given.country)
    assert card.currency in get_territory_currencies(country)
    assert ("Neutral" in card.name) is (country not in REGIONS)
    assert price_job(job(dent(1)), card).total.low > 0
    assert Locale.parse(given.locale).language == "en"


def test_what_is_no_country_is_refused() -> None:
    for code in ("XA", "ZZ", "UN", "QO", "E", "1A"):
        with pytest.raises(ValueError, match="should be a country"):
            Settings(country=code)


def test_the_country_brings_its_units_and_its_way_to_write_money() -> None:
    assert (Settings().units, Settings().locale) == ("mm", "en_GB")
    assert (Settings(country="US").units, Settings(country="US").locale) == ("inch", "en_US")
    assert Settings(country="US", units="mm").region == Region("US", "mm")
    assert (Settings(country="FR").units, Settings(country="IE").locale) == ("mm", "en_IE")
