"""Who writes the papers: name, address, numbers, and the paper they are printed on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import tzinfo
from pathlib import Path
from typing import Final, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from babel import Locale, UnknownLocaleError

from voicelog.errors import VoicelogError
from voicelog.estimate.money import Units
from voicelog.meaning.region import Region

PaperSize = Literal["A4", "Letter"]

PAPER_MM: Final[dict[str, tuple[float, float]]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height in mm: A4 by ISO 216, Letter 8.5 × 11 in by ANSI/ASME Y14.1 (from memory)."""


@dataclass(frozen=True)
class Letterhead:
    """The workshop as its papers show it."""

    name: str
    address: tuple[str, ...] = ()
    """Lines of the postal address."""
    phone: str = ""
    email: str = ""
    tax_number: str = ""
    """The number under which the tax is paid, as it must stand on an invoice."""
    logo: Path | None = None
    """A PNG or JPEG file; None for a letterhead of words only."""
    paper: PaperSize = "A4"
    locale: str = "en_GB"
    """How dates and money are written (CLDR); its country decides the trade words."""
    units: Units = "mm"
    """What lengths are written in; with "inch" paint thickness is written in mils."""
    tax_name: str = ""
    """Name of the tax; empty to take the rate card's."""
    timezone: str = ""
    """IANA name, "Europe/London"; empty to keep times as they were recorded."""
    estimate_prefix: str = "EST-"
    invoice_prefix: str = "INV-"
    record_prefix: str = "WR-"
    day_prefix: str = "DAY-"
    payment_days: int | None = None
    """Days from the invoice to the day it is due; None to print no date."""
    payment_terms: str = ""
    """Words of the workshop's own about payment: bank, account, terms."""

    def __post_init__(self) -> None:
        if self.paper not in PAPER_MM:
            raise VoicelogError(f"unknown paper size {self.paper!r}", todo="use A4 or Letter")
        if self.units not in ("mm", "inch"):
            raise VoicelogError(f"unknown unit {self.units!r}", todo="use mm or inch")
        try:
            Locale.parse(self.locale)
        except (UnknownLocaleError, ValueError) as error:
            raise VoicelogError(f"unknown locale {self.locale!r}", todo="use one like en_GB") from error
        self.zone()

    def zone(self) -> tzinfo | None:
        """The time zone of the papers; None to keep times as they were recorded."""
        if not self.timezone:
            return None
        try:
            return ZoneInfo(self.timezone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise VoicelogError(
                f"unknown time zone {self.timezone!r}", todo="use an IANA name like Europe/London"
            ) from error

    @property
    def region(self) -> Region:
        """The country whose trade words the papers use."""
        return Region(Locale.parse(self.locale).territory or "GB")

    @property
    def language(self) -> str:
        """Language tag of the papers (BCP 47).  Their words are English in every region."""
        locale = Locale.parse(self.locale)
        return f"en-{locale.territory}" if locale.language == "en" and locale.territory else "en"
