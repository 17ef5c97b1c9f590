"""kill -9 at random moments: what was told is there, the journal is whole, work goes on."""

from __future__ import annotations

import sys
from pathlib import Path

from voicelog.jobs.logbook import Logbook

from .killing import Tally, check, kill_often
from .making import a_day

DRIVER = [sys.executable, "-m", "tests.journal.driver", "{log}"]


def test_twenty_kills(path: Path) -> None:
    tally = kill_often(DRIVER, path, 20, spread_s=0.12)
    assert tally.kills == 20
    assert tally.accepted > 20
    assert tally.lost == []
    assert tally.problems == []


def test_the_check_can_fail(log: Logbook, path: Path) -> None:
    tally = Tally()
    check(path, [{"utterance": 1, "words": "new job"}, {"utterance": 999, "words": "roof"}], tally)
    assert tally.lost == ['{"utterance": 999, "words": "roof"}']
    a_day(log, jobs=1)
    log.store.connection.execute("UPDATE view_dents SET slots = '{}'")
    check(path, [], tally)
    assert tally.problems != []
