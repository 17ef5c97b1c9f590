"""Connections to a journal: how they are opened, and what their failures mean to people."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from voicelog.errors import VoicelogError

BUSY_S: Final = 0.25
"""How long a commit waits for a lock before it is kept in memory: the ear must go on."""


class GoneError(OSError):
    """The journal's file is no longer where it was opened."""


class OtherJournalError(OSError):
    """The file does not end where this writer left it."""


def real(path: Path | str) -> Path:
    """The file that a link leads to: its lock, its log and its clips lie beside that one."""
    path = Path(path)
    return path.resolve() if path.is_symlink() else path


def private_folder(path: Path) -> None:
    """Make the folder of a journal, open to its user only.

    Raises:
        VoicelogError: it cannot be made.
    """
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise VoicelogError(
            f"the folder cannot be made ({error.strerror})",
            where=str(path.parent),
            todo="give a --log in a folder of yours",
        ) from error


def connect(path: Path | None, *, writer: bool) -> sqlite3.Connection:
    """A connection in autocommit mode; a writer's is WAL with synchronous=FULL.

    Raises:
        VoicelogError: the file is missing, cannot be opened, or is no database.
    """
    where = ":memory:" if path is None else str(path)
    with readable(where):
        if path is None:
            return _prepared(sqlite3.connect(where, isolation_level=None, check_same_thread=False))
        if not writer and not path.is_file():
            raise VoicelogError(
                "there is no such journal", where=where, todo="write to it first, or give --log"
            )
        if writer:
            _make_private(path)
        connection = _opened(path, "mode=rw" if writer else "mode=ro")
        if writer:
            # A new file gets its tables first: one in WAL mode without any has lost its log.
            if path.stat().st_size:
                use_log(connection)
            connection.execute("PRAGMA synchronous = FULL")
        return connection


def use_log(connection: sqlite3.Connection) -> None:
    """Write by way of a write-ahead log from now on: readers see a whole state beside the writer."""
    connection.execute("PRAGMA journal_mode = WAL")


def check_has_log(connection: sqlite3.Connection, where: str) -> None:
    """Raises `VoicelogError` for what is left of a journal that was copied without its log."""
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if empty and connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        raise VoicelogError(
            "is a journal without its -wal file, which holds what was said",
            where=where,
            todo="copy both files together, or use voicelog backup",
        )


def _make_private(path: Path) -> None:
    # A file that is there is not opened here: closing it would drop the locks that other
    # connections of this process hold on it (SQLite, "How To Corrupt An SQLite Database File", 2.2).
    if not path.exists():
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    path.chmod(0o600)


def _opened(path: Path, how: str) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?{how}"
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY_S, isolation_level=None, check_same_thread=False)
    try:
        return _prepared(connection)
    except sqlite3.OperationalError as error:
        connection.close()
        if how != "mode=ro" or error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            raise
        if _holds(path.with_name(path.name + "-wal")):
            if os.access(path.parent, os.W_OK):
                raise
            raise VoicelogError(
                "its last entries are in the -wal file beside it, which needs a folder that can be written",
                where=str(path),
                todo="copy both files into a folder of yours and read it there",
            ) from None
        # On a medium that cannot be written, WAL has nowhere to put its index.
        return _prepared(
            sqlite3.connect(f"{uri}&immutable=1", uri=True, isolation_level=None, check_same_thread=False)
        )


def _holds(path: Path) -> bool:
    return path.exists() and path.stat().st_size > 0


def _prepared(connection: sqlite3.Connection) -> sqlite3.Connection:
    connection.execute("PRAGMA recursive_triggers = ON")
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return connection


@contextmanager
def readable(where: str) -> Iterator[None]:
    """Turns failures of SQLite and of the file system into one line."""
    try:
        yield
    except sqlite3.Error as error:
        raise VoicelogError(meaning(error), where=where, todo=_todo(error)) from error
    except UnicodeDecodeError as error:
        # SQLite quotes the damaged schema in its message, and those bytes are no text.
        raise VoicelogError("the file is damaged", where=where, todo="run: voicelog salvage") from error
    except OSError as error:
        raise VoicelogError(error.strerror or str(error), where=where) from error


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """BEGIN IMMEDIATE ... COMMIT, rolled back on any exception."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def inode(path: Path | None) -> tuple[int, int]:
    """What tells this file from another in its place; zeros for a journal in memory."""
    if path is None:
        return (0, 0)
    found = path.stat()
    return (found.st_dev, found.st_ino)


def check_place(path: Path | None, opened: tuple[int, int]) -> None:
    """Raises `GoneError` where the file is not there any more: SQLite would write into nowhere."""
    try:
        if inode(path) != opened:
            raise GoneError
    except FileNotFoundError as error:
        raise GoneError from error


def is_stale(error: Exception) -> bool:
    """Whether the file has to be opened anew before it can be written again."""
    name = getattr(error, "sqlite_errorname", "") or ""
    return isinstance(error, GoneError) or name.startswith(("SQLITE_IOERR", "SQLITE_CANTOPEN"))


def is_damage(error: BaseException) -> bool:
    """Whether a failed reading speaks of the file's content, not of locks, drives or rights."""
    name = getattr(error, "sqlite_errorname", "") or ""
    return not name.startswith(_NO_DAMAGE)


def trouble(error: Exception, waiting: int) -> str:
    """Why commits wait, in one line."""
    count = "1 entry waits" if waiting == 1 else f"{waiting} entries wait"
    return f"{meaning(error)}; {count} in memory; {_todo(error)}"


def meaning(error: Exception) -> str:
    """What a failure means to people: a clause."""
    return _reading(error)[0]


def _todo(error: Exception) -> str:
    return _reading(error)[1]


def _reading(error: Exception) -> tuple[str, str]:
    if isinstance(error, OtherJournalError):
        return "another journal is in its place", "put the right drive back, or start again"
    if isinstance(error, GoneError):
        return "the journal file is gone", "put the drive or the file back"
    name = getattr(error, "sqlite_errorname", "") or ""
    if isinstance(error, OSError):
        name = "SQLITE_FULL" if error.errno in (errno.ENOSPC, errno.EDQUOT) else "SQLITE_IOERR"
    for start, reading in _READINGS.items():
        if name.startswith(start):
            return reading
    return f"the journal cannot be used ({error})", "run: voicelog verify"


_NO_DAMAGE: Final = (
    "SQLITE_FULL", "SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_READONLY", "SQLITE_PERM", "SQLITE_CANTOPEN",
    "SQLITE_IOERR",
)  # fmt: skip
_READINGS: Final = {
    "SQLITE_FULL": ("the disk is full", "make room"),
    "SQLITE_BUSY": ("the journal is locked by another program", "close that program"),
    "SQLITE_LOCKED": ("the journal is locked by another program", "close that program"),
    "SQLITE_READONLY": ("the journal cannot be written", "check the folder's permissions"),
    "SQLITE_PERM": ("the journal cannot be written", "check the folder's permissions"),
    "SQLITE_CANTOPEN": ("the journal cannot be opened", "check the drive and the folder's permissions"),
    "SQLITE_IOERR": ("the drive does not answer", "check the drive"),
    "SQLITE_CORRUPT": ("the journal is damaged", "run: voicelog salvage"),
    "SQLITE_NOTADB": ("is no journal, or its head is damaged", "give another file, or run: voicelog salvage"),
}
