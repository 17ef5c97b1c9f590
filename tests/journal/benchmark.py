"""How a journal of 100,000 events does on this machine's disk.

    python -m tests.journal.benchmark [--events 100000] [--folder FOLDER]

A job has 200 utterances: two of three fill the open dent, the third opens the next one;
every fiftieth is undone.  An utterance is one commit of two to four events with its views.
"""

from __future__ import annotations

import argparse
import gc
import io
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal.backup import backup
from voicelog.journal.exchange import export
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import SetClock, heard, open_job, slot, undo

SLOTS = {"panel": slot("door", "door"), "end": slot("rear", "rear"), "side": slot("right", "right")}
SIZES = {"length_mm": slot(45, "forty five mil", 40), "depth": slot("shallow", "shallow")}


def resident_mb() -> float:
    """Memory of this process now (Linux)."""
    text = Path("/proc/self/status").read_text()
    return int(text.split("VmRSS:")[1].split()[0]) / 1024


def timed(work: Callable[[], object]) -> float:
    """Seconds that a piece of work takes."""
    gc.collect()
    begin = time.perf_counter()
    work()
    return time.perf_counter() - begin


def fill(path: Path, events: int, utterances: int = 200) -> tuple[list[float], list[tuple[int, float]]]:
    """Seconds of each commit, and memory after each tenth."""
    took: list[float] = []
    memory: list[tuple[int, float]] = []
    with Logbook.open(path, clock=SetClock(tick_s=100)) as log:
        job, dent, count, number = "", 0, 0, 0
        while count < events:
            if number % utterances == 0:
                job, dent = open_job(log), 0
                number, count = number + 1, count + 2
            number += 1
            drafts = [Draft(heard(number, "rear right door forty five mil shallow", **SLOTS, **SIZES), job)]
            if number % 3 == 0 or dent == 0:
                dent += 1
                drafts += [Draft(ev.DentOpened(dent), job), Draft(ev.Noted(dent, SLOTS), job)]
            else:
                drafts.append(Draft(ev.Noted(dent, SIZES), job))
            begin = time.perf_counter()
            log.commit(drafts)
            took.append(time.perf_counter() - begin)
            count += len(drafts)
            if number % 50 == 0:
                undo(log)
                count += 1
            if len(memory) < count * 10 // events:
                memory.append((count, resident_mb()))
    return took, memory


def opened(path: Path, writer: bool) -> float:
    """Seconds to the state with the current job folded."""

    def work() -> None:
        with Logbook.open(path, writer=writer) as log:
            assert log.state.job is not None
            assert log.state.job.dents

    return timed(work)


def bare_commit_ms(folder: Path) -> float:
    """Median of a commit of one small row: what the disk takes at this moment, whoever else uses it."""
    connection = sqlite3.connect(folder / "bare.db", isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("CREATE TABLE t (x)")
    took = [timed(lambda: connection.execute("INSERT INTO t VALUES (1)")) for _ in range(100)]
    connection.close()
    return 1000 * statistics.median(took)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--events", type=int, default=100_000)
    parser.add_argument("--folder", type=Path, default=None, help="on the disk to be measured")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="voicelog-bench-", dir=given.folder) as folder:
        path = Path(folder) / "day.journal"
        print(f"a bare commit of SQLite on this disk ms: median {bare_commit_ms(Path(folder)):.2f}")
        begin = time.process_time()
        took, memory = fill(path, given.events)
        processor = 1000 * (time.process_time() - begin) / len(took)
        quantiles = [1000 * q for q in statistics.quantiles(took, n=100)]
        print(f"events {given.events}, commits {len(took)}, file {path.stat().st_size / 1e6:.1f} MB")
        print(f"commit ms: median {quantiles[49]:.2f}, 95 % {quantiles[94]:.2f}, 99 % {quantiles[98]:.2f}")
        print(f"processor ms for each utterance: {processor:.2f}")
        print("memory MB: " + ", ".join(f"{count} events {mb:.0f}" for count, mb in memory))
        for writer in (True, False):
            runs = [opened(path, writer) for _ in range(5)]
            print(f"open {'to write' if writer else 'to read'} s: median {statistics.median(runs):.3f}")
        report = []
        print(f"verify s: {timed(lambda: report.append(verify(path, JobViews))):.1f} ok {report[0].ok}")
        print(f"backup s: {timed(lambda: backup(path, Path(folder) / 'copy.journal')):.2f}")
        text = io.StringIO()
        print(f"export s: {timed(lambda: export(path, text)):.1f}, {len(text.getvalue()) / 1e6:.0f} MB")
        with Logbook.open(Path(folder) / "new.journal") as log:
            lines = text.getvalue().splitlines()
            print(f"import s: {timed(lambda: log.take_in(lines)):.1f}")
        folded = []
        with Logbook.open(path, writer=False) as log:
            seconds = timed(lambda: folded.extend(log.state.jobs.values()))
            print(f"folding all {len(folded)} jobs s: {seconds:.1f}")
        if not report[0].ok:
            sys.exit("\n".join(report[0].problems))


if __name__ == "__main__":
    main()
