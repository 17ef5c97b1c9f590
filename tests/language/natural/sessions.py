"""Sessions of natural talk: what is said, one JSON object a line, with what it should mean.

Fields of a line: `session` (number; lines of one session stand together), `country` (ISO 3166),
`say`, `kind`, `slots` (canonical values), `tier` (core, natural, stretch), `keep` (words that must
not be lost though no slot need hold them), `ask_ok` (a question is as good as an answer here),
`note` (why, for people), `opener` (True for a line that only sets the scene and is not counted),
and, where another reading is as fair, `also`: a list of `{"kind": …, "slots": …}`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

Slots = dict[str, Any]


@dataclass(frozen=True)
class Saying:
    """One utterance and what it should become."""

    session: int
    country: str
    say: str
    readings: tuple[tuple[str, Slots], ...]
    """Fair readings as (kind, slots), the expected one first."""
    tier: str = "core"
    keep: tuple[str, ...] = ()
    ask_ok: bool = False
    note: str = ""
    opener: bool = False

    @property
    def kind(self) -> str:
        """The expected kind."""
        return self.readings[0][0]

    @property
    def slots(self) -> Slots:
        """The expected slots."""
        return self.readings[0][1]


def read_lines(lines: Iterable[str]) -> list[Saying]:
    """The sayings of lines of JSON.

    Raises:
        ValueError: a line is no JSON.
        KeyError: a line lacks a field that it needs.
    """
    return [_saying(json.loads(line)) for line in lines if line.strip()]


def read_file(path: Path) -> list[Saying]:
    """The sayings of a file; raises as `read_lines`, and OSError."""
    return read_lines(path.read_text(encoding="utf-8").splitlines())


def sessions(sayings: Iterable[Saying]) -> Iterator[list[Saying]]:
    """The sayings session by session."""
    for _, group in groupby(sayings, key=lambda saying: saying.session):
        yield list(group)


def _saying(data: dict[str, Any]) -> Saying:
    first = (data["kind"], data["slots"])
    others = tuple((other["kind"], other["slots"]) for other in data.get("also", ()))
    return Saying(
        session=data["session"],
        country=data["country"],
        say=data["say"],
        readings=(first, *others),
        tier=data.get("tier", "core"),
        keep=tuple(data.get("keep", ())),
        ask_ok=data.get("ask_ok", False),
        note=data.get("note", ""),
        opener=data.get("opener", False),
    )
