"""The one settings file, and the standard folders of the user.

The file is TOML.  Whatever is not written in it has the default given here.
"""

from __future__ import annotations

from importlib import resources
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo

import platformdirs
from pydantic import AfterValidator, BeforeValidator, Field

from voicelog.meaning.region import Region
from voicelog.toml_model import TomlModel, load_toml
from voicelog.units import Units

APP = "voicelog"

PaperSize = Literal["A4", "Letter"]


def _country(code: str) -> str:
    from babel.numbers import get_territory_currencies

    # Whatever has a currency has a starting card.
    if len(code) != 2 or not get_territory_currencies(code.upper()):
        raise ValueError("should be a country by ISO 3166, as in GB or US")
    return code.upper()


def _locale(name: str) -> str:
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(name or "en_GB")
    except (UnknownLocaleError, ValueError) as error:
        raise ValueError("should be a locale, as in en_GB or en_US") from error
    return name


def _timezone(name: str) -> str:
    try:
        if name:
            ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError("should be a time zone, as in Europe/London") from error
    return name


def _lines(text: Any) -> Any:
    return tuple(text.splitlines()) if isinstance(text, str) else text


def _path(text: Any) -> Any:
    return (Path(text).expanduser() if text else None) if isinstance(text, str) else text


LocaleName = Annotated[str, AfterValidator(_locale)]
"""How dates and money are written (CLDR), as in en_GB."""


class Listening(TomlModel):
    """The ear: engine, device and answers."""

    engine: Literal["auto", "neural", "pocketsphinx", "vosk"] = "auto"
    """auto takes neural where it can be used, else pocketsphinx."""
    model: str = ""
    """Folder of a recogniser's model; empty for the usual places."""
    device: str = ""
    """Name or number of the microphone; empty for the system's default."""
    silence_s: float = Field(default=1.05, ge=0.2, le=2)
    """A silence this long ends an utterance; one that is complete ends after half of it."""
    questions: Literal["now", "review"] = "now"
    """Whether what may have been misheard is asked at once, or waits unasked for the review (in noise)."""
    spoken: bool = True
    """Answers are also spoken where there is a voice."""
    volume: float = Field(default=0.5, ge=0, le=1)
    """From 0, silent, to 1."""
    keep_clips_days: int = Field(default=30, ge=1, le=36500)
    """Sound of accepted and asked utterances is kept for so many days."""


class Workshop(TomlModel):
    """Who writes the papers: name, address, numbers, and the paper they are printed on."""

    name: str = "Workshop name not set"
    address: Annotated[tuple[str, ...], BeforeValidator(_lines)] = ()
    """Lines of the postal address."""
    phone: str = ""
    email: str = ""
    tax_number: str = ""
    """The number under which the tax is paid, as it must stand on an invoice."""
    logo: Annotated[Path | None, BeforeValidator(_path)] = None
    """A PNG or JPEG file, counted from the folder of the settings file; None for words only."""
    paper: PaperSize = "A4"
    locale: LocaleName = ""
    """Empty for that of the settings.  Its country decides the trade words of the papers."""
    units: Units | None = None
    """None for those of the settings."""
    tax_name: str = ""
    """Name of the tax; empty to take the rate card's."""
    timezone: Annotated[str, AfterValidator(_timezone)] = ""
    """IANA name, "Europe/London"; empty to keep times as they were recorded."""
    estimate_prefix: str = "EST-"
    invoice_prefix: str = "INV-"
    quote_prefix: str = "QUO-"
    record_prefix: str = "WR-"
    day_prefix: str = "DAY-"
    prices_with_tax: bool = False
    """Whether a price by hand holds the tax."""
    payment_days: int | None = Field(default=None, ge=0, le=3650)
    """Days from the invoice to the day it is due; None to print no date."""
    payment_terms: str = ""
    """Words of the workshop's own about payment."""
    bank: Annotated[tuple[str, ...], BeforeValidator(_lines)] = ()
    """Lines that say where money goes: account holder, bank, account."""
    validity_days: int | None = Field(default=30, ge=1, le=3650)
    """Days that an estimate or a quote holds; None to print no date."""
    warranty: str = ""
    """Words of the workshop's own about its warranty: on estimates, quotes, invoices and work records."""
    terms: str = ""
    """Further words of the workshop's own: on estimates and quotes."""


class Settings(TomlModel):
    """Everything a user can set."""

    country: Annotated[str, AfterValidator(_country)] = "GB"
    """ISO 3166 code: decides nearside and offside, and the trade words of answers."""
    locale: LocaleName = Field(default_factory=lambda given: Region(given.get("country", "GB")).locale)
    units: Units = Field(default_factory=lambda given: "inch" if given.get("country") == "US" else "mm")
    """Without a word of it inches in the US only."""
    card: str = ""
    """Path of the rate card; empty for the starting card of the country."""
    clock: Literal["ask", "close"] = "ask"
    """Whether "job finished" asks first or just stops the clock where that runs."""
    agreements: str = ""
    """Folder of price agreements; empty for `agreements` beside the settings file."""
    listening: Listening = Listening()
    workshop: Workshop = Workshop()

    @property
    def region(self) -> Region:
        """What depends on the country."""
        return Region(self.country, self.units)


def config_path() -> Path:
    """Where the settings file is looked for."""
    return platformdirs.user_config_path(APP) / "settings.toml"


def data_folder() -> Path:
    """Where the journal, its clips and the user's lexicon are kept."""
    return platformdirs.user_data_path(APP)


def cache_folder() -> Path:
    """Where downloaded models are kept."""
    return platformdirs.user_cache_path(APP)


def grammars_folder() -> Path:
    """The grammar files: inside the installed package, or beside it in a checkout."""
    inside = Path(str(resources.files("voicelog"))) / "grammars"
    beside = Path(str(resources.files("voicelog"))).parent / "grammars"
    return inside if inside.is_dir() else beside


def load_settings(path: Path | None = None) -> Settings:
    """Read the settings; a file that is not there gives the defaults unless it was asked for.

    Raises:
        VoicelogError: unreadable, not TOML, or every key that is unknown or has a wrong value.
    """
    file = path or config_path()
    if path is None and not file.exists():
        return Settings()
    found = load_toml(Settings, file, todo="mend the settings file")
    logo = found.workshop.logo
    if logo is None:
        return found
    shop = found.workshop.model_copy(update={"logo": file.parent / logo})
    return found.model_copy(update={"workshop": shop})
