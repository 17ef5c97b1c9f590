"""Sound of utterances, beside the journal, named by what it holds.

A clip is 16 kHz mono, 16 bits, kept as FLAC (lossless, so its hash can be checked).
The name is the SHA-256 over its samples as little-endian 16-bit words.  The journal
opens without its clips.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import time
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from voicelog.errors import VoicelogError
from voicelog.files import new_file

if TYPE_CHECKING:  # opening a journal does not wait for numpy
    from voicelog.sound.format import Samples

KEEP_DAYS: Final = 30
_DAY_S: Final = 86_400
_JUMP_DAYS: Final = 14
"""A clock that much later than at the last purge may be wrong: a battery ran out, a date was mistyped."""


class Clips:
    """The folder of clips of one journal; made when the first clip is put in.

    Args:
        folder: where they lie; see `beside`.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    @classmethod
    def beside(cls, journal: Path | str) -> Clips:
        """The clips of a journal: the folder with its name and ".clips"."""
        path = Path(journal)
        return cls(path.with_name(path.name + ".clips"))

    def put(self, samples: Samples) -> str:
        """Keep a clip; returns its hash.  One that is there already counts as kept today.

        Args:
            samples: 16 kHz mono, int16, at least one.

        Raises:
            TypeError: the samples are not one row of int16.
            ValueError: there are none.
            VoicelogError: the folder cannot be written.
        """
        if samples.dtype.name != "int16" or samples.ndim != 1:
            raise TypeError("a clip is one row of int16 samples")
        if not samples.size:
            raise ValueError("a clip holds at least one sample")
        name = _hash(samples)
        path = self.path(name)
        try:
            if path.is_file():
                os.utime(path)
            else:
                self._write(path, samples)
        except (OSError, RuntimeError) as error:  # RuntimeError: soundfile's own errors
            raise VoicelogError(
                f"a clip cannot be kept ({error})",
                where=str(self.folder),
                todo="make room, or check the drive",
            ) from error
        return name

    def _write(self, path: Path, samples: Samples) -> None:
        self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        path.parent.mkdir(mode=0o700, exist_ok=True)
        import soundfile

        from voicelog.sound.format import RATE

        # Encoded in memory: an error of the disk would be lost inside the codec's callbacks.
        sound = io.BytesIO()
        soundfile.write(sound, samples, RATE, format="FLAC", subtype="PCM_16")
        with new_file(path, private=True) as part:
            part.write_bytes(sound.getvalue())

    def path(self, name: str) -> Path:
        """Where a clip lies, or would lie.

        Raises:
            ValueError: the name is no hash.
        """
        if len(name) != 64 or set(name) - set("0123456789abcdef"):
            raise ValueError(f"no hash of a clip: {name!r}")
        return self.folder / name[:2] / f"{name}.flac"

    def __contains__(self, name: str) -> bool:
        return self.path(name).is_file()

    def get(self, name: str) -> Samples:
        """The samples of a clip.

        Raises:
            VoicelogError: it is not there any more, or not what its name says.
        """
        import soundfile

        path = self.path(name)
        if not path.is_file():
            raise VoicelogError("this sound is not kept any more", where=path.name)
        try:
            samples, _ = soundfile.read(path, dtype="int16")
        except soundfile.SoundFileError as error:
            raise VoicelogError(f"the sound is damaged ({error})", where=str(path)) from error
        if _hash(samples) != name:
            raise VoicelogError("the sound is not what was said: its hash differs", where=str(path))
        return samples  # type: ignore[no-any-return]

    def names(self) -> Iterator[str]:
        """Hashes of all clips that are there."""
        return (path.stem for path in sorted(self.folder.glob("??/*.flac")))

    def remove(self, names: Collection[str]) -> int:
        """Delete clips; the number that were there."""
        there = [self.path(name) for name in names if name in self]
        for path in there:
            path.unlink()
        return len(there)

    def purge(self, days: float = KEEP_DAYS, now: float | None = None) -> int | None:
        """Delete what was put in more than `days` days ago; the number of clips deleted.

        A clock that is far ahead of the last purge is not trusted until it has gone on for a day:
        None until then, and nothing is deleted.

        Args:
            days: how long clips are kept, at least 1.
            now: seconds since 1970, for tests.

        Raises:
            ValueError: less than a day.
        """
        if not days >= 1:
            raise ValueError(f"sound is kept for a day at least, not {days}")
        now = time.time() if now is None else now
        if not self.folder.is_dir():
            return 0
        if not self._trusts(now):
            return None
        oldest = now - days * _DAY_S
        for part in self.folder.glob("??/*.part"):
            if part.stat().st_mtime < oldest:
                part.unlink()
        return self.remove([name for name in self.names() if self.path(name).stat().st_mtime < oldest])

    def _trusts(self, now: float) -> bool:
        """Whether the clock goes on from where it was; notes where it is."""
        note = self.folder / "clock.json"
        newest = max((self.path(name).stat().st_mtime for name in self.names()), default=now)
        try:
            last, jumped = json.loads(note.read_text())
        except (OSError, ValueError, TypeError):
            last, jumped = newest, None
        if now > last + _JUMP_DAYS * _DAY_S:
            jumped = now if jumped is None or now < jumped else jumped
            if now < jumped + _DAY_S:
                self._note(note, [last, jumped])
                return False
        self._note(note, [now, None])
        return True

    def _note(self, note: Path, values: list[float | None]) -> None:
        with new_file(note, private=True) as part:
            part.write_text(json.dumps(values))


def _hash(samples: Samples) -> str:
    return hashlib.sha256(samples.astype("<i2").tobytes()).hexdigest()
