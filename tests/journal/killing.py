"""Kills a listening program again and again, and looks at what it left."""

from __future__ import annotations

import json
import random
import subprocess
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.clips import Clips
from voicelog.journal.verify import verify

ROOT = Path(__file__).parents[2]


@dataclass
class Tally:
    """What came of the kills."""

    kills: int = 0
    ended: int = 0
    """Runs that came to their end before they were killed."""
    accepted: int = 0
    """Accept lines that were printed."""
    lost: list[str] = field(default_factory=list)
    """Accept lines that the journal does not know."""
    problems: list[str] = field(default_factory=list)
    beyond: int = 0
    """Utterances in the journal whose line was not printed any more: committed, then killed."""


def kill_once(
    command: Sequence[str], path: Path, delay_s: float, tally: Tally, *, started: str = '"utterance"'
) -> list[dict[str, Any]]:
    """Run `command` ({log} is the journal), kill it `delay_s` after its first accept line."""
    arguments = [part.replace("{log}", str(path)) for part in command]
    child = subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, cwd=ROOT)
    assert child.stdout is not None
    killer: threading.Timer | None = None
    lines: list[dict[str, Any]] = []
    for line in child.stdout:
        if killer is None and started in line:
            killer = threading.Timer(delay_s, child.kill)
            killer.start()
        # The last line may have been cut by the kill: then nobody was told.
        if line.endswith("\n") and line.startswith("{"):
            lines.append(json.loads(line))
    if killer is not None:
        killer.join()
    status = child.wait()
    if status == -9:
        tally.kills += 1
    else:
        tally.ended += 1
        if status:
            tally.problems.append(f"the program ended by itself with status {status}")
    return [line for line in lines if line.get("decision") in ("accepted", "asked")]


def check(path: Path, told: Sequence[dict[str, Any]], tally: Tally) -> None:
    """Every line told is in the journal with its sound, and the journal is whole."""
    report = verify(path, JobViews)
    tally.problems.extend(report.problems)
    with Logbook.open(path, writer=False) as log:
        known = {event.body.utterance: event.body for event in log.heards()}  # type: ignore[attr-defined]
        if log.state != fold(log.events()):
            tally.problems.append("the state is not the fold of the events")
    clips = Clips.beside(path)
    for line in told:
        body = known.get(line["utterance"])
        if body is None or body.words != line["words"] or (body.clip and body.clip not in clips):
            tally.lost.append(json.dumps(line))
    tally.accepted += len(told)
    last = max((line["utterance"] for line in told), default=0)
    tally.beyond += sum(1 for number in known if number > last) if told else 0


def kill_often(
    command: Sequence[str],
    path: Path,
    kills: int,
    *,
    spread_s: float = 0.3,
    seed: int = 1,
    minutes: float = float("inf"),
) -> Tally:
    """Kill `kills` times at random moments, or fewer in these minutes; each run goes on with the journal
    of the one before."""
    chance, tally = random.Random(seed), Tally()
    tries, end = 0, time.monotonic() + 60 * minutes
    while tally.kills < kills and tries < 2 * kills + 5 and time.monotonic() < end:
        tries += 1
        told = kill_once(command, path, chance.uniform(0, spread_s), tally)
        check(path, told, tally)
        time.sleep(0)
    return tally
