"""One writer at a time: a lock beside the journal that dies with its process."""

from __future__ import annotations

from pathlib import Path

from filelock import FileLock, Timeout

from voicelog.errors import VoicelogError


class WriterLock:
    """Held from opening to `release`, or until the process ends, however it ends.

    Raises:
        VoicelogError: another process writes this journal, or the folder cannot be written.
    """

    def __init__(self, journal: Path) -> None:
        self._lock = FileLock(journal.with_name(journal.name + ".lock"), timeout=0, mode=0o600)
        try:
            self._lock.acquire()
        except Timeout as error:
            raise VoicelogError(
                "another voicelog is writing this journal",
                where=str(journal),
                todo="end it first, or give another --log",
            ) from error
        except OSError as error:
            raise VoicelogError(
                f"the journal's folder cannot be written ({error.strerror or error})",
                where=str(journal.parent),
                todo="give a --log in a folder of yours",
            ) from error

    def release(self) -> None:
        """Let others write."""
        self._lock.release()
