"""The one way to write a file: whole or not at all, under a name that cannot leave its folder."""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
import os
import re
import tempfile
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import platformdirs

from voicelog.errors import VoicelogError

LONGEST_PART = 24
"""Characters of a plate or title that go into a file name."""


_T = TypeVar("_T")


def kept_in_cache(
    key: str, make: Callable[[], _T], packed: Callable[[_T], Any], unpacked: Callable[[Any], _T]
) -> _T:
    """What was worked out from grammar files, from the user's cache folder where it is there.

    A file that is damaged is made anew; a folder that cannot be written to costs time only.

    Args:
        key: names all that the result depends on.
        make: works it out.
        packed: turns it into what JSON can hold.
        unpacked: turns that back; ValueError, TypeError or LookupError where it cannot.
    """
    path = kept_place("grammars", key).with_suffix(".json")
    with contextlib.suppress(OSError, ValueError, TypeError, LookupError, RecursionError), _uncollected():
        return unpacked(json.loads(path.read_bytes()))
    with _uncollected():
        found = make()
    with contextlib.suppress(VoicelogError):
        write_atomically(path, json.dumps(packed(found)).encode())
    return found


def kept_place(kind: str, key: str) -> Path:
    """Where something of a kind is kept in the user's cache folder, by all that it depends on."""
    name = hashlib.sha256(os.fsencode(key)).hexdigest()[:32]
    return platformdirs.user_cache_path("voicelog") / kind / name


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the search for circles, which would go over a growing network again and again."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class Written(list[Path]):
    """The paths written, readable by the user only, and what became of the files that were there before."""

    def __init__(self) -> None:
        super().__init__()
        self.replaced: list[Path] = []
        """Files that held something else before."""
        self.unchanged: list[Path] = []
        """Files that held the very same bytes, or may not change any more, and were left alone."""
        self.remarks: list[str] = []
        """What a person has to know about the files, a line each."""

    def write(self, path: Path, data: bytes, *, once: bool = False) -> str:
        """Write a file; what happened: "wrote", "replaced", "unchanged" or "kept".

        Args:
            once: whatever is there already stays as it is.
        """
        did = "kept" if once and path.exists() else write_atomically(path, data, private=True)
        self.append(path)
        if did == "replaced":
            self.replaced.append(path)
        elif did != "wrote":
            self.unchanged.append(path)
        return did


def write_atomically(path: Path, data: bytes, *, private: bool = False) -> str:
    """Put `data` in place of `path` in one step: "wrote", "replaced" or "unchanged".

    The old file stays whole until the new one is on disk; `private` is as in `new_file`.

    Raises:
        VoicelogError: the folder cannot be made or written to.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        was_there = path.exists()
        if was_there and path.read_bytes() == data:
            return "unchanged"
        with new_file(path, private=private) as part:
            part.write_bytes(data)
    except OSError as error:
        raise VoicelogError(
            f"cannot be written ({error.strerror or error})",
            where=str(path),
            todo="choose another folder or close the program that holds the file",
        ) from error
    return "replaced" if was_there else "wrote"


def check_no_pipe(path: Path) -> None:
    """Raises `VoicelogError` for a pipe or a device: reading it may never end."""
    if path.exists() and not (path.is_file() or path.is_dir()):
        where = os.fsencode(path).decode("utf-8", "replace")
        raise VoicelogError("is no file but a pipe or device", where=where, todo="save it as a file first")


@contextmanager
def new_file(path: Path, *, private: bool = False) -> Iterator[Path]:
    """A file beside `path` to be written; it takes that name when the block ends well, on disk and whole.

    Otherwise it is gone, and what was at `path` is as it was.

    Args:
        path: its folder is there.
        private: readable by the user only.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".voicelog-", suffix=".part")
    os.close(handle)
    part = Path(name)
    try:
        yield part
        with open(part, "rb") as file:
            os.fsync(file.fileno())
        if not private:  # mkstemp makes files that only the owner can read
            part.chmod(0o666 & ~_umask())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def name_part(text: str, longest: int = LONGEST_PART) -> str:
    """`text` as a part of a file name: ASCII letters, digits and hyphens, at most `longest`.

    Empty where nothing of it can stand in a file name on every system.
    """
    folded = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    return re.sub(r"[^A-Za-z0-9]+", "-", folded)[:longest].strip("-")
