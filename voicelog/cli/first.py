"""The guided first start: microphone, rehearsal, country and units, rate card."""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator, Sequence
from pathlib import Path

import tomlkit
import typer

from voicelog.board.first_start.app import FirstStartApp
from voicelog.board.first_start.parts import Choices, Parts
from voicelog.cli.opening import open_ears
from voicelog.cli.rehearsing import PHRASES, WAIT_S, keep
from voicelog.errors import VoicelogError
from voicelog.estimate.card import default_card, load_card
from voicelog.listening import Chunk, Microphone, Samples, Segmenter, SpeechEnded, portaudio
from voicelog.listening.levels import measure
from voicelog.listening.rehearsal import rehearse
from voicelog.papers.files import write_atomically
from voicelog.session import feed as fd
from voicelog.settings import config_path, load_settings

LISTEN_S = 4.0


def register(app: typer.Typer) -> None:
    """Add the command of this module."""
    app.command("first-start")(first_start)


def first_start() -> None:
    """Set up in four steps: microphone, rehearsal, country and units, rate card."""
    if not sys.stdout.isatty():
        raise VoicelogError("the first start needs a terminal", todo="write the settings file by hand")
    choices = guide()
    typer.echo(f"settings in {config_path()}" if choices else "nothing was changed")


def guide() -> Choices | None:
    """Run the guided path; None where the user left it."""
    given = load_settings()
    known = Choices(given.listening.device, given.country, given.units, given.card)
    app = FirstStartApp(Parts(_devices, _try, PHRASES, _rehearse, _about_card, save), known)
    app.run()
    return app.result


def _devices() -> Sequence[str]:
    return [device.name for device in portaudio.devices(portaudio.load(), "input")]


def _try(device: str, feed: fd.Feed, stop: threading.Event) -> Sequence[str]:
    """Listen for some seconds; what is wrong with level and noise."""
    return measure(_some(Microphone(device or None), feed, stop)).findings()


def _some(microphone: Microphone, feed: fd.Feed, stop: threading.Event) -> Iterator[Chunk]:
    """Some seconds of a microphone, with its level reported."""
    for chunk in microphone:
        feed(fd.Level(chunk.level_dbfs, chunk.clipped))
        yield chunk
        if stop.is_set() or chunk.end_s >= LISTEN_S:
            microphone.stop()
            return


def _rehearse(device: str, feed: fd.Feed, stop: threading.Event) -> Sequence[str]:
    engine = open_ears("pocketsphinx", load_settings())
    done = 0

    def record(phrase: str) -> Samples | None:
        nonlocal done
        feed(fd.Progress(done, len(PHRASES), phrase))
        done += 1
        return None if stop.is_set() else _one(device, feed, stop)

    def decode(sound: Samples) -> str:
        words = engine.decode(sound).words
        feed(fd.Partial(words))
        return words

    report, recorded = rehearse(PHRASES, record, decode)
    if not stop.is_set():
        keep(recorded)
    return report.lines()


def _one(device: str, feed: fd.Feed, stop: threading.Event) -> Samples | None:
    """One utterance from the microphone, or None after a while."""
    microphone, segmenter = Microphone(device or None), Segmenter()
    for chunk in microphone:
        feed(fd.Level(chunk.level_dbfs, chunk.clipped))
        for event in segmenter.feed(chunk):
            if isinstance(event, SpeechEnded):
                microphone.stop()
                return event.segment.samples
        if stop.is_set() or (chunk.end_s > WAIT_S and not segmenter.in_speech):
            microphone.stop()
            return None
    return None


def _about_card(path: str, country: str) -> str:
    card = load_card(Path(path).expanduser()) if path else default_card(country)
    return f"{card.name}: {card.hourly_rate} {card.currency} an hour"


def save(choices: Choices, path: Path | None = None) -> None:
    """Write the choices into the settings file; what else stands there stays."""
    file = path or config_path()
    text = file.read_text(encoding="utf-8") if file.exists() else ""
    document = tomlkit.parse(text)
    document["country"] = choices.country
    document["units"] = choices.units
    if choices.card:
        document["card"] = choices.card
    listening = document.setdefault("listening", tomlkit.table())
    if choices.device:
        listening["device"] = choices.device
    file.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(file, tomlkit.dumps(document).encode())
