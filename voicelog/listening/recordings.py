"""Recorded sound files as a source of chunks, read a little at a time."""

from __future__ import annotations

import hashlib
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import datetime, timedelta
from functools import cached_property
from pathlib import Path

import numpy as np
import soundfile

from voicelog.errors import VoicelogError
from voicelog.files import check_no_pipe
from voicelog.listening.converter import Converter
from voicelog.listening.headers import missing_bytes, recorded_at
from voicelog.sound.format import Chunk, Floats, Source


class Recording:
    """A sound file (WAV, FLAC and what else libsndfile reads) as a `Source`.

    Args:
        path: the file; any rate from 1 kHz, any number of channels and width.
        began: when it began; without it the file says so itself, or the system does: it was changed last
            when it ended.

    Raises:
        VoicelogError: missing, a folder, a pipe, unreadable, empty or not audio.  A file
            that ends too early is no error: what is there is delivered and
            `warnings` says so.
    """

    def __init__(self, path: Path | str, began: datetime | None = None) -> None:
        self._path = Path(path)
        self._stopped = threading.Event()
        self._warnings: list[str] = []
        _check_readable(self._path)
        with self._open() as file:
            self.rate: int = file.samplerate
            self.channels: int = file.channels
            self.subtype: str = file.subtype
            self.duration_s: float = file.frames / file.samplerate
            frames = file.frames
            tag = str(file.copy_metadata().get("date", ""))
        Converter(self.rate, self.name)
        lost = missing_bytes(self._path)
        if lost:
            self._warnings.append(f"{self.name}: ends {lost} bytes early; what is there is used")
        elif frames == 0:
            raise VoicelogError("holds no sound", where=self.name, todo="record it again")
        self.began: datetime = began or self._recorded(tag)

    def _recorded(self, tag: str) -> datetime:
        for text in (tag, recorded_at(self._path)):
            # A date alone, or a year, is no time of day.
            if len(text) > len("2026-03-02"):
                with suppress(ValueError):
                    return datetime.fromisoformat(text).astimezone()
        ended = datetime.fromtimestamp(self._path.stat().st_mtime).astimezone()
        return ended - timedelta(seconds=self.duration_s)

    @cached_property
    def fingerprint(self) -> str:
        """SHA-256 of the file."""
        with self._path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()

    @property
    def name(self) -> str:
        """The path as given; what is no UTF-8 in it, as question marks."""
        return os.fsencode(self._path).decode("utf-8", "replace")

    @property
    def warnings(self) -> list[str]:
        """What was wrong with the file so far."""
        return self._warnings

    def stop(self) -> None:
        """End the iteration after the chunk in hand."""
        self._stopped.set()

    def __iter__(self) -> Iterator[Chunk]:
        converter = Converter(self.rate, self.name)
        block = max(1, self.rate // 10)
        delivered = False
        with self._open() as file:
            last = False
            while not (last or self._stopped.is_set()):
                data = self._read(file, block)
                last = len(data) < block
                for chunk in converter.push(data, last=last):
                    delivered = True
                    yield chunk
        if not delivered and not self._stopped.is_set():
            raise VoicelogError("holds no sound that can be read", where=self.name, todo="record it again")

    def _open(self) -> soundfile.SoundFile:
        try:
            return soundfile.SoundFile(os.fsencode(self._path) if os.name == "posix" else str(self._path))
        except (soundfile.LibsndfileError, TypeError) as error:  # a .raw file says nothing of its rate
            reason = _reason(error) if isinstance(error, soundfile.LibsndfileError) else "of unknown rate"
            raise VoicelogError(
                f"is no sound file that can be read ({reason})",
                where=self.name,
                todo="give a WAV or FLAC file",
            ) from error

    def _read(self, file: soundfile.SoundFile, frames: int) -> Floats:
        try:
            data: Floats = file.read(frames, dtype="float32", always_2d=True)
            return data
        except soundfile.LibsndfileError as error:
            at_s = file.tell() / self.rate
            self._warnings.append(
                f"{self.name}: cannot be read beyond {at_s:.1f} s ({_reason(error)}); what is there is used"
            )
            return np.zeros((0, self.channels), dtype=np.float32)


def _reason(error: soundfile.LibsndfileError) -> str:
    text = str(error.error_string).strip(" .")
    return text.removeprefix("Error").lstrip(" :") or text


def _check_readable(path: Path) -> None:
    where = os.fsencode(path).decode("utf-8", "replace")
    if path.is_dir():
        raise VoicelogError("is a folder", where=where, todo="name the sound files in it")
    check_no_pipe(path)
    try:
        with path.open("rb") as file:
            empty = not file.read(1)
    except FileNotFoundError:
        raise VoicelogError("no such file", where=where, todo="check the name") from None
    except OSError as error:
        raise VoicelogError(
            f"cannot be read ({error.strerror or error})", where=where, todo="check its permissions"
        ) from error
    if empty:
        raise VoicelogError("the file is empty", where=where, todo="record it again")


class Paced:
    """A source slowed down to the speed at which it was spoken.

    Args:
        source: what to deliver.
        clock, sleep: seconds now, and waiting; for tests.
    """

    def __init__(
        self,
        source: Source,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._source = source
        self._clock = clock
        self._sleep = sleep

    @property
    def name(self) -> str:
        """The name of the source within."""
        return self._source.name

    @property
    def began(self) -> datetime | None:
        """When the source within began."""
        return self._source.began

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the source within."""
        return self._source.fingerprint

    @property
    def warnings(self) -> list[str]:
        """The warnings of the source within."""
        return self._source.warnings

    def stop(self) -> None:
        """End the iteration after the chunk in hand."""
        self._source.stop()

    def __iter__(self) -> Iterator[Chunk]:
        began = self._clock()
        for chunk in self._source:
            wait = began + chunk.end_s - self._clock()
            if wait > 0:
                self._sleep(wait)
            yield chunk
