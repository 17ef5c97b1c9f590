"""Runs commands as the command line does, without a new process for each."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from voicelog.cli import main


@dataclass(frozen=True)
class Ran:
    """What a command printed and how it ended."""

    status: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Run:
    """`run("price", "--json")`; the user's folders are those of an empty home."""
    for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    # The compiled grammar is kept for all tests of a run: making it takes seconds.
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "cache"))
    monkeypatch.delenv("VOICELOG_MODEL", raising=False)
    monkeypatch.chdir(tmp_path)

    def command(*arguments: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["voicelog", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return Ran(int(ended.value.code or 0), printed.out, printed.err)

    return command
