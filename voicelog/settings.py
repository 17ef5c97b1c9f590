"""The one settings file, and the standard folders of the user.

The file is TOML.  Whatever is not written in it has the default given here.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from importlib import resources
from pathlib import Path
from typing import Any, get_args, get_type_hints

import platformdirs

from voicelog.errors import VoicelogError
from voicelog.estimate.money import Units
from voicelog.meaning.region import Region
from voicelog.papers.letterhead import Letterhead

APP = "voicelog"


@dataclass(frozen=True)
class Listening:
    """The ear: engine, device and answers."""

    engine: str = "auto"
    """auto, pocketsphinx or vosk."""
    model: str = ""
    """Folder of a recogniser's model; empty for the usual places."""
    device: str = ""
    """Name or number of the microphone; empty for the system's default."""
    silence_s: float = 0.55
    """A silence this long ends an utterance."""
    spoken: bool = True
    """Answers are also spoken where there is a voice."""
    volume: float = 0.5
    """0 to 1."""
    keep_clips_days: int = 30
    """Sound of accepted and asked utterances is kept for so many days."""


@dataclass(frozen=True)
class Settings:
    """Everything a user can set."""

    country: str = "GB"
    """ISO 3166 code: decides nearside and offside, and the trade words of answers and papers."""
    locale: str = "en_GB"
    """How dates and money are written (CLDR)."""
    units: Units = "mm"
    card: str = ""
    """Path of the rate card; empty for the starting card of the country."""
    listening: Listening = field(default_factory=Listening)
    workshop: Mapping[str, Any] = field(default_factory=dict)
    """The letterhead's fields, as in `voicelog.papers.letterhead.Letterhead`."""

    @property
    def region(self) -> Region:
        """What depends on the country."""
        return Region(self.country)

    def letterhead(self, folder: Path | None = None) -> Letterhead:
        """The workshop's letterhead; a logo's path counts from `folder`."""
        given = dict(self.workshop)
        given.setdefault("name", "Workshop name not set")
        given.setdefault("locale", self.locale)
        given.setdefault("units", self.units)
        if "address" in given:
            given["address"] = tuple(given["address"])
        if given.get("logo"):
            logo = Path(given["logo"])
            given["logo"] = logo if logo.is_absolute() or folder is None else folder / logo
        return Letterhead(**given)


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
        VoicelogError: unreadable, not TOML, unknown keys (all of them named) or wrong values.
    """
    file = path or config_path()
    if path is None and not file.exists():
        return Settings()
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise VoicelogError(f"the settings cannot be read ({error.strerror})", where=str(file)) from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise VoicelogError(f"the settings are not TOML ({error})", where=str(file)) from error
    problems: list[str] = []
    listening = data.pop("listening", {})
    workshop = data.pop("workshop", {})
    ear = _checked(Listening, listening, "listening.", problems)
    _checked(
        Letterhead, {k: v for k, v in workshop.items() if k not in ("address", "logo")}, "workshop.", problems
    )
    top = _checked(Settings, data, "", problems)
    if problems:
        raise VoicelogError("; ".join(problems), where=str(file), todo="mend the settings file")
    return Settings(**top, listening=Listening(**ear), workshop=workshop)


def _checked(kind: type[Any], data: Mapping[str, Any], prefix: str, problems: list[str]) -> dict[str, Any]:
    """The keys that fit a record; what does not is added to `problems`."""
    hints = get_type_hints(kind)
    known = {item.name: item for item in fields(kind) if prefix or item.name not in ("listening", "workshop")}
    given: dict[str, Any] = {}
    for name, value in data.items():
        if name not in known:
            near = difflib.get_close_matches(name, known, 1)
            problems.append(f"unknown key {prefix}{name}" + (f", did you mean {near[0]}" if near else ""))
            continue
        wanted = _wanted(hints[name])
        if isinstance(value, bool) != (bool in wanted) or not isinstance(value, (*wanted, *_widened(wanted))):
            problems.append(f"{prefix}{name} = {value!r} is not {_named(wanted)}")
            continue
        given[name] = value
    for name, item in known.items():
        if (
            name not in data
            and item.default is MISSING
            and item.default_factory is MISSING
            and prefix != "workshop."
        ):
            problems.append(f"{prefix}{name} is missing")
    return given


def _wanted(hint: Any) -> tuple[type, ...]:
    if isinstance(hint, type):
        return (hint,)
    return tuple(dict.fromkeys(arg if isinstance(arg, type) else type(arg) for arg in get_args(hint)))


def _widened(wanted: tuple[type, ...]) -> tuple[type, ...]:
    return (int,) if float in wanted else ()


def _named(wanted: tuple[type, ...]) -> str:
    names = {str: "a text", int: "a whole number", float: "a number", bool: "true or false"}
    return " or ".join(names.get(kind, kind.__name__) for kind in wanted if kind is not type(None))
