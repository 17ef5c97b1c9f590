"""PortAudio through sounddevice, loaded only when sound is really wanted.

Importing sounddevice looks for the PortAudio library and fails where there is
none, so nothing imports it at the top of a module.
"""

from __future__ import annotations

import importlib
import threading
from dataclasses import dataclass
from typing import Any, Literal

from voicelog.errors import VoicelogError

Kind = Literal["input", "output"]

LOCK = threading.RLock()
"""Held while a device is opened or played on: PortAudio re-reads its list of
devices only when it is shut down and started again, which closes every stream."""

_PACKAGES = (
    "install the package libportaudio2 (Debian, Ubuntu, Raspberry Pi OS), portaudio (Fedora, Arch, "
    "Homebrew) and try again"
)


@dataclass(frozen=True)
class Device:
    """A sound device as PortAudio lists it; `channels` and `rate` (Hz) for its kind."""

    number: int
    name: str
    channels: int
    rate: int
    default: bool


def load() -> Any:
    """The sounddevice module.

    Raises:
        VoicelogError: PortAudio or sounddevice is missing; says what to install.
    """
    try:
        return importlib.import_module("sounddevice")
    except OSError as error:
        raise VoicelogError("the sound library PortAudio is missing", todo=_PACKAGES) from error
    except ImportError as error:
        raise VoicelogError(
            "the Python package sounddevice is missing", todo="pip install sounddevice"
        ) from error


def devices(sd: Any, kind: Kind) -> list[Device]:
    """All devices that can record (`input`) or play (`output`).

    Raises:
        VoicelogError: the sound system does not answer.
    """
    with LOCK:
        try:
            listed = list(sd.query_devices())
            default = sd.default.device[0 if kind == "input" else 1]
        except sd.PortAudioError as error:
            raise VoicelogError(f"the sound system does not answer ({_short(error)})") from error
    found = []
    for number, entry in enumerate(listed):
        channels = int(entry[f"max_{kind}_channels"])
        if channels > 0:
            rate = round(float(entry["default_samplerate"]))
            found.append(Device(number, str(entry["name"]), channels, rate, number == default))
    defaults = [d.number for d in found if d.default]
    if found and not defaults:
        fallback = _host_default(sd, kind)
        found = [Device(d.number, d.name, d.channels, d.rate, d.number == fallback) for d in found]
    return found


def _host_default(sd: Any, kind: Kind) -> int:
    for host in sd.query_hostapis():
        number = int(host[f"default_{kind}_device"])
        if number >= 0:
            return number
    return -1


def choose(sd: Any, kind: Kind, wanted: str | int | None = None) -> Device:
    """The device of this number or name, or the system's default.

    Args:
        wanted: a number, a name, a part of a name that only one device has
            (case does not matter), or None.

    Raises:
        VoicelogError: there is none, or several; the line lists what there is.
    """
    found = devices(sd, kind)
    what = "microphone" if kind == "input" else "loudspeaker"
    if not found:
        raise VoicelogError(f"no {what} found", todo="plug one in and switch it on")
    if wanted is None or wanted == "":
        return next((d for d in found if d.default), found[0])
    text = str(wanted).strip().casefold()
    if text.isdigit():
        matches = [d for d in found if d.number == int(text)]
    else:
        matches = [d for d in found if d.name.casefold() == text][:1]
        matches = matches or [d for d in found if text in d.name.casefold()]
    if len(matches) == 1:
        return matches[0]
    listing = ", ".join(f"{d.number} {d.name}" for d in (matches or found))
    how_many = "several devices match" if matches else f"no such {what}"
    raise VoicelogError(how_many, where=str(wanted), todo=f"choose one of: {listing}")


def refresh(sd: Any) -> None:
    """Make PortAudio look again at what is plugged in; closes every open stream."""
    with LOCK:
        try:
            sd._terminate()
            sd._initialize()
        except sd.PortAudioError as error:
            raise VoicelogError(f"the sound system does not answer ({_short(error)})") from error


def _short(error: Exception) -> str:
    return " ".join(str(error.args[0] if error.args else error).split())
