"""Does a WAV or FLAC file hold as much as its header promises?

libsndfile takes a WAV file that ends too early for a shorter one and says
nothing, so the promise is read here: RIFF chunk sizes, in bytes (Microsoft and
IBM, Multimedia Programming Interface and Data Specifications 1.0, 1991; RF64
and its 64-bit sizes are EBU Tech 3306).
"""

from __future__ import annotations

import struct
from pathlib import Path

UNKNOWN = {0, 0x7FFFFFFF, 0xFFFFFFFF}
"""Data sizes written by programs that stream and never return to the header."""


def missing_bytes(path: Path) -> int:
    """Bytes of sound that the RIFF header promises and the file lacks.

    0 for files that are whole, are not RIFF, or do not state their size.
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        if len(head) < 12 or head[:4] not in (b"RIFF", b"RIFX") or head[8:] != b"WAVE":
            return 0
        order = "<" if head[:4] == b"RIFF" else ">"
        at = 12
        while at + 8 <= size:
            file.seek(at)
            name, length = struct.unpack(f"{order}4sI", file.read(8))
            if name == b"data":
                if length in UNKNOWN or length >= 0xFFFFFF00 - 4096:
                    return 0
                return max(0, int(at + 8 + length - size))
            at += 8 + length + (length & 1)
    return 0
