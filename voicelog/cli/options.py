"""Options that many commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

LogOption = Annotated[
    Path | None,
    typer.Option("--log", metavar="FILE", help="The journal; default: the one in your data folder."),
]
CardOption = Annotated[
    Path | None,
    typer.Option("--card", metavar="FILE", help="The rate card; default: the one in the settings."),
]
SettingsOption = Annotated[
    Path | None, typer.Option("--settings", metavar="FILE", help="The settings file; default: yours.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
EngineOption = Annotated[
    str | None, typer.Option("--engine", help="neural, pocketsphinx, vosk, or auto: neural where it runs.")
]
JobOption = Annotated[int | None, typer.Option("--job", metavar="N", help="Only job N.")]
