"""kill -9 at random moments, 200 times or more.

    python -m tests.journal.bench_kill [--kills 200] [--spread 0.3]
        [--command "voicelog hear --json --log {log} day.wav"]

The command gets {log}; it prints one JSON object a line per utterance after its commit.
Without a command it is `tests.journal.driver`, which commits as fast as it can.
A kill leaves the system's cache in place, so this shows that no order of writes leaves a
broken journal; that a commit outlasts a loss of power rests on SQLite's synchronous=FULL.
"""

from __future__ import annotations

import argparse
import shlex
import sys
import tempfile
import time
from pathlib import Path

from .killing import kill_often

DRIVER = f"{shlex.quote(sys.executable)} -m tests.journal.driver {{log}}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--spread", type=float, default=0.3, help="seconds after the first line, at most")
    parser.add_argument("--command", default=DRIVER)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="stop after so long")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="voicelog-kill-") as folder:
        begin = time.perf_counter()
        path = Path(folder) / "day.journal"
        tally = kill_often(
            shlex.split(given.command), path, given.kills,
            spread_s=given.spread, seed=given.seed, minutes=given.minutes,
        )  # fmt: skip
        took = time.perf_counter() - begin
    print(f"kills {tally.kills}, runs that ended first {tally.ended}, seconds {took:.0f}")
    print(f"accept lines {tally.accepted}, lost {len(tally.lost)}")
    print(f"committed but not yet told when killed {tally.beyond}")
    print(f"problems {len(tally.problems)}")
    for text in (*tally.lost[:5], *tally.problems[:5]):
        print(f"  {text}")
    return 1 if tally.lost or tally.problems or tally.kills < given.kills else 0


if __name__ == "__main__":
    sys.exit(main())
