"""What libsndfile does not tell of a WAV file: whether it is whole, and when it was recorded.

libsndfile takes a file that ends too early for a shorter one and says nothing, so the
promise is read here: RIFF chunk sizes, in bytes (Microsoft and IBM, Multimedia Programming
Interface and Data Specifications 1.0, 1991; RF64 and its 64-bit sizes are EBU Tech 3306).
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

UNKNOWN = {0, 0x7FFFFFFF, 0xFFFFFFFF}
"""Data sizes written by programs that stream and never return to the header."""


ORIGINATION = slice(320, 338)
"""Where a chunk "bext" holds date and time, "2026-03-0209:00:00" (EBU Tech 3285, from memory)."""


def chunks(path: Path) -> Iterator[tuple[str, int, int]]:
    """Name, place of its data and promised length of each RIFF chunk; nothing for files that are not RIFF."""
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        if len(head) < 12 or head[:4] not in (b"RIFF", b"RIFX") or head[8:] != b"WAVE":
            return
        order = "<" if head[:4] == b"RIFF" else ">"
        at = 12
        while at + 8 <= size:
            file.seek(at)
            name, length = struct.unpack(f"{order}4sI", file.read(8))
            yield name.decode("latin-1"), at + 8, length
            at += 8 + length + (length & 1)


def missing_bytes(path: Path) -> int:
    """Bytes of sound that the RIFF header promises and the file lacks.

    0 for files that are whole, are not RIFF, or do not state their size.
    """
    for name, at, length in chunks(path):
        if name == "data":
            streamed = length in UNKNOWN or length >= 0xFFFFFF00 - 4096
            return 0 if streamed else max(0, at + length - path.stat().st_size)
    return 0


def recorded_at(path: Path) -> str:
    """Date and time in ISO 8601 as a field recorder writes them into the file; empty where there are none."""
    for name, at, _ in chunks(path):
        if name == "bext":
            with path.open("rb") as file:
                file.seek(at)
                text = file.read(ORIGINATION.stop)[ORIGINATION].decode("ascii", "replace")
            return f"{text[:10]}T{text[10:]}".replace(".", ":")
    return ""
