"""Cuts a piece of work off at every step it takes on the file system, as a loss of power would.

    python -m tests.journal.cutting N WORK ARGUMENTS...   ends at the N-th step with status 99

A step is whatever Python asks of the system that changes files: opening to write, renaming, linking,
removing, and each statement given to SQLite (what SQLite does within one is its own to keep whole).
"""

from __future__ import annotations

import os
import sys
from typing import Any

CUT = 99
_STEPS = ("os.rename", "os.link", "os.remove", "os.truncate", "os.chmod", "os.mkdir", "sqlite3.connect")


class Knife:
    """Ends the process at the n-th step."""

    def __init__(self, last: int) -> None:
        self.left = last

    def __call__(self, event: str, arguments: tuple[Any, ...]) -> None:
        writes = (
            event == "open" and isinstance(arguments[2], int) and arguments[2] & (os.O_WRONLY | os.O_RDWR)
        )
        if event in _STEPS or writes:
            self.left -= 1
            if self.left == 0:
                os._exit(CUT)


def main() -> None:
    from pathlib import Path

    from voicelog.jobs.logbook import Logbook
    from voicelog.journal.backup import restore

    last, work, *arguments = sys.argv[1:]
    if work == "restore":
        sys.addaudithook(Knife(int(last)))
        restore(Path(arguments[0]), Path(arguments[1]))
    elif work == "forget":
        log = Logbook.open(arguments[0])
        sys.addaudithook(Knife(int(last)))
        log.forget(list(log.state.jobs))
        log.close()


if __name__ == "__main__":
    main()
