"""The workshop as its papers show it, with all that follows from where it is."""

from __future__ import annotations

from datetime import tzinfo
from zoneinfo import ZoneInfo

from babel import Locale

from voicelog.meaning.region import Region
from voicelog.settings import LocaleName, Settings, Workshop
from voicelog.units import Units


class Letterhead(Workshop):
    """The workshop's settings with nothing left open."""

    locale: LocaleName = "en_GB"
    units: Units = "mm"

    def zone(self) -> tzinfo | None:
        """The time zone of the papers; None to keep times as they were recorded."""
        return ZoneInfo(self.timezone) if self.timezone else None

    @property
    def region(self) -> Region:
        """The country whose trade words the papers use."""
        return Region(Locale.parse(self.locale).territory or "GB", self.units)

    @property
    def language(self) -> str:
        """Language tag of the papers (BCP 47).  Their words are English in every region."""
        locale = Locale.parse(self.locale)
        return f"en-{locale.territory}" if locale.language == "en" and locale.territory else "en"


def letterhead_of(settings: Settings) -> Letterhead:
    """The letterhead by the settings."""
    given = dict(settings.workshop)
    given["locale"] = given["locale"] or settings.locale
    given["units"] = given["units"] or settings.units
    return Letterhead(**given)
