"""A copy of a journal while it is written, and back again."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.files import new_file
from voicelog.journal import connect, schema
from voicelog.journal.clips import Clips
from voicelog.journal.locks import WriterLock
from voicelog.journal.work import Cancelled, Progress, Watch

_PAGES: Final = 256
"""Pages copied between two looks at `cancelled`: 1 MiB."""


def backup(
    path: Path | str,
    target: Path | str,
    *,
    clips: bool = True,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> int:
    """Copy a journal to a new file, beside a writer; returns the number of events in the copy.

    The copy is one moment of the journal, however much is written meanwhile (SQLite's online
    backup within one read transaction), and is checked before it gets its name.

    Args:
        path: the journal.
        target: a file that does not exist yet; its clips go into the folder beside it.
        clips: whether clips are copied as well.
        progress: called with (pages copied, pages).

    Raises:
        VoicelogError: the target exists or cannot be written, or the journal is damaged.
        StoppedError: when cancelled.
    """
    source, copy = connect.real(path), Path(target)
    if copy.exists():
        raise VoicelogError("is there already", where=str(copy), todo="give a new file")
    watch = Watch("backup", progress, cancelled)
    connect.private_folder(copy)
    connection = connect.connect(source, writer=False)
    try:
        with (
            connect.readable(str(copy)),
            new_file(copy, private=True) as part,
            connect.readable(str(source)),
        ):
            schema.check_is_journal(connection, str(source))
            connection.execute("BEGIN")
            events = int(connection.execute("SELECT count(*) FROM events").fetchone()[0])
            _copy(connection, part, copy, watch)
            _check(part, events)
    finally:
        connection.close()
    if clips:
        _copy_clips(Clips.beside(source), Clips.beside(copy), watch)
    return events


def _copy(connection: sqlite3.Connection, part: Path, copy: Path, watch: Watch) -> None:
    target = sqlite3.connect(part, isolation_level=None)
    try:
        connection.backup(target, pages=_PAGES, progress=lambda _, left, total: watch.at(total - left, total))
        # One file, whole by itself, until a writer opens it.
        target.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if not error.sqlite_errorname.startswith(("SQLITE_FULL", "SQLITE_CANTOPEN", "SQLITE_READONLY")):
            raise
        raise VoicelogError(connect.meaning(error), where=str(copy), todo="give another folder") from error
    finally:
        target.close()


def _check(part: Path, events: int) -> None:
    copy = sqlite3.connect(part, isolation_level=None)
    try:
        found = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
        count = copy.execute("SELECT count(*) FROM events").fetchone()[0]
    finally:
        copy.close()
    if found != "ok" or count != events:
        raise VoicelogError(f"the copy is not whole ({found})", where=str(part), todo="run: voicelog verify")


def _copy_clips(source: Clips, target: Clips, watch: Watch) -> None:
    names = [name for name in source.names() if name not in target]
    for number, name in enumerate(names):
        watch.at(number, len(names))
        place = target.path(name)
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        target.folder.chmod(0o700)
        with new_file(place, private=True) as part:
            shutil.copyfile(source.path(name), part)


def restore(
    copy: Path | str,
    path: Path | str,
    *,
    progress: Progress = lambda done, total: None,
    cancelled: Cancelled = lambda: False,
) -> Path | None:
    """Put a backup in the place of a journal.

    What was there is not deleted: it gets another name, which is returned.  The journal goes
    on as a new device, so that what the old one wrote after the backup can be taken in later.

    Raises:
        VoicelogError: the backup is damaged or none, or somebody writes the journal.
        StoppedError: when cancelled; nothing was changed.
    """
    source, place = connect.real(copy), connect.real(path)
    connect.private_folder(place)
    lock = WriterLock(place)
    try:
        fresh = place.with_name(place.name + ".restoring")
        fresh.unlink(missing_ok=True)
        backup(source, fresh, clips=False, progress=progress, cancelled=cancelled)
        _name_device(fresh)
        aside = _put_aside(place)
        fresh.replace(place)
    finally:
        lock.release()
    _copy_clips(Clips.beside(source), Clips.beside(place), Watch("restore", progress))
    return aside


def _name_device(path: Path) -> None:
    connection = sqlite3.connect(path)
    with connection:
        connection.execute("UPDATE meta SET value = ? WHERE key = 'device'", (schema.new_device(),))
    connection.close()


def _put_aside(place: Path) -> Path | None:
    """Give a journal a second name; None where there is none.

    It keeps its own as well until the new one takes that in one step: whenever the power goes,
    one of the two is in its place, whole.
    """
    if not place.exists():
        return None
    number = 1
    while (aside := place.with_name(f"{place.name}.before-restore-{number}")).exists():
        number += 1
    whole = _into_one_file(place)
    for end in ("",) if whole else ("-wal", ""):
        part = place.with_name(place.name + end)
        if part.exists():
            with new_file(aside.with_name(aside.name + end), private=True) as copy:
                shutil.copyfile(part, copy)
    if not whole:  # damaged: its log must not be taken for one of the new file
        for end in ("-wal", "-shm"):
            place.with_name(place.name + end).unlink(missing_ok=True)
    return aside


def _into_one_file(place: Path) -> bool:
    """Bring the log of a journal into it; whether that could be done."""
    with connect.readable(str(place)):
        try:
            connection = connect.connect(place, writer=True)
        except VoicelogError as error:
            if error.__cause__ is None or not connect.is_damage(error.__cause__):
                raise
            return False
        try:
            connection.execute("PRAGMA journal_mode = DELETE")
        except sqlite3.Error as error:
            if not connect.is_damage(error):
                raise
            return False
        finally:
            connection.close()
    return True
