"""The guided first start: microphone, rehearsal, country and units, rate card."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import tomlkit
import typer

from voicelog.board.first_start.app import FirstStartApp
from voicelog.board.first_start.parts import Choices
from voicelog.board.first_start.real import real_parts
from voicelog.cli.rehearsing import PHRASES, keep
from voicelog.cli.wiring import open_ears
from voicelog.errors import VoicelogError
from voicelog.files import write_atomically
from voicelog.listening import Samples
from voicelog.settings import config_path, load_settings


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
    app = FirstStartApp(real_parts(save, PHRASES, _decoder, keep=keep), known)
    app.run()
    return app.result


def _decoder() -> Callable[[Samples], str]:
    engine = open_ears(None, load_settings())
    return lambda sound: engine.decode(sound).words


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
