"""What the first start needs from outside, and what it finds out."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voicelog.session.reports import Feed
from voicelog.units import Units


@dataclass(frozen=True)
class Choices:
    """What the user chose; what was skipped has its default."""

    device: str = ""
    """Name of the microphone; empty for the system's default."""
    country: str = "GB"
    """ISO 3166 alpha-2."""
    units: Units = "mm"
    card: str = ""
    """Path of the rate card; empty for the starting card of the region."""


_NO_COUNTRIES = frozenset({"EU", "EZ", "UN", "XA", "XB", "ZZ", "QO"})
"""Codes of the CLDR for unions, tests and the unknown."""


def every_country() -> tuple[tuple[str, str], ...]:
    """(ISO code, name) of every country of the CLDR, by name."""
    from babel import Locale

    names = Locale("en").territories
    pairs = [(code, name) for code, name in names.items() if len(code) == 2 and code.isalpha()]
    return tuple(sorted((pair for pair in pairs if pair[0] not in _NO_COUNTRIES), key=lambda pair: pair[1]))


@dataclass(frozen=True)
class Parts:
    """Functions of the outside; each may raise `VoicelogError`, which is shown and can be tried again."""

    devices: Callable[[], Sequence[str]]
    """Names of the microphones."""
    try_microphone: Callable[[str, Feed, threading.Event], Sequence[str]]
    """Listens to a device for some seconds and reports `Level`; gives what is wrong, empty for nothing."""
    phrases: Sequence[str]
    """What is said in the rehearsal, ten phrases."""
    rehearse: Callable[[str, Feed, threading.Event], Sequence[str]]
    """Asks for the phrases on a device: reports `Progress(done, total, phrase)` before each, and after
    it `Partial` with the words heard; gives the lines of its report."""
    check_card: Callable[[str, str], str]
    """(path, country) to one line about the card; an empty path is the starting card of the country."""
    save: Callable[[Choices], None]
    """Writes the settings."""
    countries: Sequence[tuple[str, str]] = ()
    """(ISO code, name) to choose from; empty for every country of the CLDR."""
