"""kill -9 while `voicelog hear` takes down a long recording: what was told is kept.

The benchmark does the same more often: `python -m tests.journal.bench_kill --spread 4
--command "voicelog hear --json --again --engine pocketsphinx --log {log} demo/recordings/01-morning.flac"`.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.journal.killing import kill_often

KILLS = 20
MORNING = Path(__file__).parents[2] / "demo" / "recordings" / "01-morning.flac"


def test_every_utterance_told_survives_a_kill_at_any_moment(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "voicelog", "hear", "--json", "--again", "--engine", "pocketsphinx"]
    tally = kill_often(
        [*command, "--log", "{log}", str(MORNING)], tmp_path / "j.db", KILLS, spread_s=2.0, seed=7
    )
    assert tally.kills == KILLS
    assert tally.accepted >= KILLS
    assert tally.lost == []
    assert tally.problems == []
