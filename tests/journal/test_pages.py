"""Records read from the pages of a file are those that SQLite itself reads from it."""

from __future__ import annotations

import random
import sqlite3
from pathlib import Path

import pytest

from voicelog.journal.pages import Pages


@pytest.mark.parametrize("page", [512, 4096, 65536])
@pytest.mark.parametrize("mode", ["DELETE", "WAL"])
def test_the_same_as_sqlite(tmp_path: Path, page: int, mode: str) -> None:
    path, chance = tmp_path / "a.db", random.Random(page)
    database = sqlite3.connect(path, isolation_level=None)
    database.execute(f"PRAGMA page_size = {page}")
    database.execute(f"PRAGMA journal_mode = {mode}")
    database.execute("CREATE TABLE a (seq INTEGER PRIMARY KEY, t TEXT, n, f REAL, b BLOB)")
    database.execute("CREATE TABLE w (key TEXT PRIMARY KEY, t TEXT) WITHOUT ROWID")
    for row in range(300):
        long = 70_000 if row % 50 == 0 else chance.choice([0, 10, 400, 5000])
        number = chance.choice([None, 0, 1, -1, 1 << chance.randrange(62)])
        database.execute(
            "INSERT INTO a VALUES (?, ?, ?, ?, ?)", (row + 1, "ü" * long, number, row / 7, b"x" * row)
        )
        database.execute("INSERT INTO w VALUES (?, ?)", (f"{row:05}", "y" * long))
    found = set(Pages(path).records())
    assert {(None, *row) for row in database.execute("SELECT t, n, f, b FROM a")} <= found
    assert set(database.execute("SELECT * FROM w")) <= found


def test_noise_gives_no_exception(tmp_path: Path) -> None:
    chance = random.Random(5)
    path = tmp_path / "noise.db"
    for size in (0, 1, 99, 5000, 40_000):
        path.write_bytes(chance.randbytes(size))
        list(Pages(path).records())
    for kind in (0x0D, 0x0A, 0x02):
        page = bytearray(chance.randbytes(4096))
        page[0] = kind
        path.write_bytes(bytes(4096) + bytes(page))
        list(Pages(path).records())
