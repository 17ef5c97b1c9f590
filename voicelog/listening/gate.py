"""Half-duplex: while our answer sounds, the microphone's sound is not a note."""

from __future__ import annotations

import threading
from collections import deque


class HalfDuplexGate:
    """Remembers when answers sounded, on the clock of `time.monotonic`.

    Args:
        tail_s: how long a room and the device's buffers go on sounding after
            an answer, in seconds.

    The answering thread closes it, the listening thread asks; sound captured
    before an answer began stays open although it is looked at afterwards.
    """

    def __init__(self, tail_s: float = 0.25) -> None:
        self._tail_s = tail_s
        self._spans: deque[tuple[float, float]] = deque(maxlen=64)
        self._lock = threading.Lock()

    def close(self, start: float, end: float) -> None:
        """An answer sounds from `start` to `end` (monotonic seconds)."""
        with self._lock:
            if self._spans and start <= self._spans[-1][1]:
                # One answer arrives block by block.
                start = self._spans.pop()[0]
            self._spans.append((start, end + self._tail_s))

    def closed(self, start: float, end: float) -> bool:
        """Whether an answer sounded at any moment between `start` and `end`."""
        with self._lock:
            return any(a < end and start < b for a, b in self._spans)
