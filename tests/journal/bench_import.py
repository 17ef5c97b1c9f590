"""Exports with changed contents and right hashes: what is taken in must not break what follows.

python -m tests.journal.bench_import [--imports 5000] [--seed 1]
"""

from __future__ import annotations

import argparse
import copy
import random
import sys
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.estimate.card import default_card
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal.json_lines import HEADER, line_of, line_text
from voicelog.journal.personal import commitment
from voicelog.journal.rows import GENESIS, Row, canonical
from voicelog.journal.verify import verify

from .making import SetClock, a_day, note_dent, open_job

Line = dict[str, Any]
ODD: list[Any] = [
    None, True, 0, -1, 10**6, 2**53 + 1, 2**63, 2**80, 1e300, float("inf"), float("nan"), 0.1, "", "x", "0",
    "2026-01-01", "-5", "1e999", "\x1b]52;c;eA==\x07", "a" * 5000, [], {}, [1], ["x"], {"value": 5},
    {"a": {}}, "door", "1; DROP TABLE events",
]  # fmt: skip


@dataclass
class Outcomes:
    """What came of the imports."""

    taken: int = 0
    refused: int = 0
    broke: list[str] = field(default_factory=list)


def rehashed(lines: Iterable[Line]) -> list[str]:
    """The text of an export with these lines, each with the hash that fits it and the one before."""
    texts, last = [line_text(HEADER)], dict[str, bytes]()
    for line in lines:
        device = str(line["device"])
        salt, apart = line["salt"], line["apart"]
        data = None if apart is None else canonical(apart)
        keep = line["personal"] if apart is None else commitment(str(salt), str(data)).hex()
        new = {**line, "personal": keep, "prev": last.get(device, GENESIS).hex()}
        columns = {
            "grp": new["group"], "ord": new["order"], "body": canonical(new["body"]),
            "derived": canonical(new["derived"]), "personal": keep and bytes.fromhex(keep),
            "prev": last.get(device, GENESIS), "hash": b"", "salt": salt, "data": data,
        }  # fmt: skip
        same = ("id", "at", "device", "version", "job", "type", "schema")
        row = Row(**{name: new[name] for name in same}, **columns)
        last[device] = row.computed_hash()
        texts.append(line_text({**new, "hash": last[device].hex()}))
    return [*texts, line_text({"end": True, "events": len(texts) - 1})]


def mutated(lines: list[Line], chance: random.Random) -> list[Line]:
    """A copy with one value somewhere changed to an odd one, or to another of the same file."""
    lines = copy.deepcopy(lines)
    line = chance.choice(lines)
    places = list(_places(line))
    holder, key = chance.choice([place for place in places if place[1] not in ("prev", "hash")])
    holder[key] = chance.choice([*ODD, copy.deepcopy(chance.choice(places)[0])])
    return lines


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in list(items):
        yield value, key
        yield from _places(inner)


def try_all(days: Iterable[list[Line]], folder: Path) -> Outcomes:
    """Import each day into a journal of its own; where it is taken, go on with everything."""
    found = Outcomes()
    for number, lines in enumerate(days):
        path = folder / f"day{number}.db"
        try:
            texts = rehashed(lines)
        except (TypeError, ValueError, AttributeError, KeyError):
            continue  # nothing a file could hold
        with Logbook.open(path) as log:
            try:
                log.take_in(texts, "day.jsonl")
            except VoicelogError:
                found.refused += 1
                continue
            found.taken += 1
            trouble = _used(log)
        report = verify(path, JobViews)
        if trouble or report.problems:
            found.broke.append(trouble or str(report.problems))
    return found


def _used(log: Logbook) -> str:
    """What goes wrong when the journal is used: empty where nothing does."""
    try:
        card = default_card("GB")
        for job in log.state.jobs.values():
            price_job(job, card).to_json()
            str(job.title)
        assert log.state == fold(log.events())
        job = open_job(log)
        note_dent(log, job, 1)
        return log.trouble or ""
    except Exception as error:
        import traceback

        return f"{type(error).__name__}: {error} {traceback.format_exc()[-400:]}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--imports", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    chance = random.Random(given.seed)
    with tempfile.TemporaryDirectory(prefix="voicelog-import-") as name, Logbook.in_memory(SetClock()) as log:
        a_day(log)
        lines = [line_of({**row.__dict__}) for row in _rows(log)]
        found = try_all((mutated(lines, chance) for _ in range(given.imports)), Path(name))
    print(f"taken {found.taken}, refused {found.refused}, broke {len(found.broke)}")
    for text in found.broke[:10]:
        print(f"  {text}")
    return 1 if found.broke else 0


def _rows(log: Logbook) -> list[Row]:
    return list(log.store.rows())


if __name__ == "__main__":
    sys.exit(main())
