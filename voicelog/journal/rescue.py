"""Where events go while the journal's disk refuses them: a private file elsewhere."""

from __future__ import annotations

import hashlib
import os
import secrets
import tempfile
from collections.abc import Sequence
from pathlib import Path

from voicelog.files import new_file
from voicelog.journal.json_lines import lines
from voicelog.journal.rows import Row


class Rescue:
    """The file of one session with one journal; it is there only while something waits.

    Args:
        journal: None for one in memory, of which nothing is kept.
        folder: where it lies; None for the system's folder for temporary files, which is also
            taken where the folder cannot be written.
    """

    def __init__(self, journal: Path | None, folder: Path | None) -> None:
        self._key = (
            "" if journal is None else hashlib.sha256(str(journal.resolve()).encode()).hexdigest()[:12]
        )
        self._folder = folder
        self._name = f"rescued-{self._key}-{secrets.token_hex(4)}.jsonl"
        self.kept: Path | None = None
        """The file, where there is one."""

    @property
    def _folders(self) -> list[Path]:
        temporary = Path(tempfile.gettempdir())
        return [temporary] if self._folder is None else [self._folder, temporary]

    def keep(self, rows: Sequence[Row]) -> Path | None:
        """Put rows into the file, on disk, in place of what it held; None where no folder takes it."""
        if not self._key:
            return None
        for folder in self._folders:
            try:
                folder.mkdir(mode=0o700, parents=True, exist_ok=True)
                with new_file(folder / self._name, private=True) as part:
                    part.write_text("".join(lines(rows)), encoding="utf-8")
            except OSError:
                continue
            self.drop(but=folder / self._name)
            self.kept = folder / self._name
            return self.kept
        return None

    def drop(self, but: Path | None = None) -> None:
        """All is in the journal: the file is not needed any more."""
        if self.kept is not None and self.kept != but:
            self.kept.unlink(missing_ok=True)
            self.kept = None

    def left(self) -> list[Path]:
        """Files of sessions before that ended while something waited."""
        owned = [
            path
            for folder in self._folders
            for path in sorted(folder.glob(f"rescued-{self._key}-*.jsonl"))
            if self._key and path != self.kept and _is_ours(path)
        ]
        return list(dict.fromkeys(owned))


def _is_ours(path: Path) -> bool:
    """Whether this user wrote it: anybody may put files into a folder for temporary ones."""
    return not hasattr(os, "getuid") or path.stat().st_uid == os.getuid()
