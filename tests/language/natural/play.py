"""Plays sessions through the tool as `voicelog say` does: typed words, a fresh journal each."""

from __future__ import annotations

import functools
import json
import os
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch

from voicelog.cli import wiring
from voicelog.errors import VoicelogError
from voicelog.grammar import Grammar, Network
from voicelog.jobs.records import State
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.settings import Settings

from .sessions import Saying, sessions


@dataclass(frozen=True)
class Played:
    """One utterance and what became of it."""

    saying: Saying
    outcome: dict[str, Any]
    """The line that `voicelog say --json` would print."""
    before: dict[str, Any] = field(default_factory=dict)
    """What the open dent held before."""
    after: dict[str, Any] = field(default_factory=dict)
    """What the open dent holds now."""
    seconds: float = 0.0


def play(sayings: Iterable[Saying]) -> list[Played]:
    """Every utterance but the openers, in order."""
    memory = "/dev/shm" if os.path.isdir("/dev/shm") else None  # a journal waits for the disk at each commit
    with _grammar_once(), TemporaryDirectory(dir=memory) as folder, _no_settings_of(folder):
        return [
            played
            for number, session in enumerate(sessions(sayings))
            for played in _session(session, Path(folder) / f"{number}.db")
            if not played.saying.opener
        ]


def _session(session: list[Saying], log: Path) -> Iterator[Played]:
    settings = Settings(country=session[0].country)
    try:
        card = wiring.open_card(None, settings)
    except VoicelogError as error:
        # The command ends before the first word is taken.
        refused = {"decision": "rejected", "kind": "none", "slots": {}, "reason": str(error)}
        yield from (Played(saying, refused) for saying in session)
        return
    with wiring.open_logbook(log) as logbook:
        dialogue = wiring.open_dialogue(logbook, card, settings)
        for saying in session:
            before = _open_dent(logbook.state)
            start = time.perf_counter()
            outcome = dialogue.take(Hypothesis(saying.say, engine="typed"))
            seconds = time.perf_counter() - start
            line = json.loads(json.dumps(outcome.to_json()))
            yield Played(saying, line, before, _open_dent(logbook.state), seconds)


def _open_dent(state: State) -> dict[str, Any]:
    job = state.job
    if job is None or job.open_dent not in job.dents:
        return {}
    return job.dents[job.open_dent].values()


@contextmanager
def _grammar_once() -> Iterator[None]:
    """Read the language once for all sessions: it is most of the time that opening takes."""
    build = Grammar.network
    built: dict[tuple[str, str | None], Network] = {}

    def network(grammar: Grammar, rule: str | None = None) -> Network:
        key = (grammar.sha256, rule)
        if key not in built:
            built[key] = build(grammar, rule)
        return built[key]

    load = functools.cache(wiring.open_grammar)
    with patch.object(wiring, "open_grammar", load), patch.object(Grammar, "network", network):
        yield


@contextmanager
def _no_settings_of(folder: str) -> Iterator[None]:
    """Keep settings and words of whoever runs this out of the figures."""
    with patch.dict(os.environ, XDG_CONFIG_HOME=folder, XDG_DATA_HOME=folder):
        yield
