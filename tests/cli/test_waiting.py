"""While the disk refuses, nobody is told that a note is kept; whatever ends the program, it is not lost."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
FOLDERS = ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME", "TMPDIR")


class Talk:
    """`voicelog say --json` reading lines, on a journal of its own."""

    def __init__(self, folder: Path) -> None:
        self.path, self.home = folder / "j.db", folder / "home"
        self.home.mkdir(exist_ok=True)
        self.start()

    def start(self) -> None:
        command = [sys.executable, "-m", "voicelog", "say", "--json", "--log", str(self.path)]
        own = dict.fromkeys(FOLDERS, str(self.home))
        self.process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, **own},
            cwd=ROOT,
        )

    def say(self, words: str) -> dict[str, Any]:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        self.process.stdin.write(f"{words}\n")
        self.process.stdin.flush()
        found = json.loads(self.process.stdout.readline())
        assert isinstance(found, dict)
        return found

    def end(self) -> tuple[int, str]:
        """Close its input and wait; its status and what it said on standard error."""
        err = self.process.communicate(timeout=60)[1]
        return self.process.returncode, err

    def on_disk(self) -> int:
        reader = sqlite3.connect(self.path)
        try:
            return int(reader.execute("SELECT count(*) FROM events WHERE type = 'heard'").fetchone()[0])
        finally:
            reader.close()


@contextmanager
def locked(path: Path) -> Iterator[None]:
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    yield
    other.close()


@pytest.fixture
def talk(tmp_path: Path) -> Iterator[Talk]:
    talk = Talk(tmp_path)
    assert talk.say("new job")["durable"] is True
    yield talk
    talk.process.kill()
    talk.process.communicate()


def test_what_waits_is_told_as_waiting_and_tried_again_by_time(talk: Talk) -> None:
    with locked(talk.path):
        assert talk.say("roof forty mil steel")["durable"] is False
        assert talk.on_disk() == 1
    end = time.monotonic() + 20
    while talk.on_disk() < 2 and time.monotonic() < end:
        time.sleep(0.2)
    assert talk.on_disk() == 2  # although nobody spoke again
    assert talk.say("bonnet ten mil steel")["durable"] is True
    status, err = talk.end()
    assert status == 0
    assert "locked by another program; 1 entry waits in memory" in err
    assert list(talk.home.rglob("rescued-*")) == []


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGHUP, signal.SIGINT, signal.SIGKILL])
def test_whatever_ends_it_the_next_start_takes_it_in(talk: Talk, how: signal.Signals) -> None:
    with locked(talk.path):
        for words in ("roof forty mil steel", "bonnet ten mil steel"):
            assert talk.say(words)["durable"] is False
        talk.process.send_signal(how)
        status, err = talk.end()
    if how != signal.SIGKILL:
        assert status == 2
        assert "taken in at the next start" in err
    (rescued,) = talk.home.rglob("rescued-*")
    assert rescued.parent == talk.home / "voicelog" / "waiting"
    assert rescued.stat().st_mode & 0o777 == 0o600
    talk.start()
    assert talk.say("total")["utterance"] == 4
    status, err = talk.end()
    assert status == 0
    assert "could not be written the last time were taken in" in err
    assert talk.on_disk() == 4
    assert not rescued.exists()


@pytest.mark.parametrize(
    ("how", "status"), [(signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130)]
)
def test_a_session_that_is_told_to_end_closes_its_journal(
    talk: Talk, how: signal.Signals, status: int
) -> None:
    talk.say("roof forty mil steel")
    talk.process.send_signal(how)
    assert talk.end()[0] == status
    assert not talk.path.with_name("j.db-wal").exists()


def test_a_terminal_of_another_encoding_ends_nothing(tmp_path: Path) -> None:
    """Windows' code page 1252 has neither a check mark nor an arrow."""
    command = [sys.executable, "-m", "voicelog", "say", "new job", "roof forty mil steel"]
    own = {**dict.fromkeys(FOLDERS, str(tmp_path)), "PYTHONIOENCODING": "cp1252"}
    done = subprocess.run(
        [*command, "--log", str(tmp_path / "j.db")], capture_output=True, env={**os.environ, **own}, cwd=ROOT
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"2 + roof forty mil steel" in done.stdout
