"""The wall clock of the journal, and ids that sort by time.

Ids are UUIDs of version 7 (RFC 9562, section 5.7): 48 bits of milliseconds since
1970, then 74 bits that are random for the first id of a millisecond and counted on
from there (section 6.2, method 2).  A clock that is set back does not take the ids
back: they go on counting from the last one until the clock has caught up.  A maker
that has been shown the last id of a journal gives later ids only, so the order of
ids is an order of cause and effect, whichever device wrote them.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable
from datetime import datetime

_TAIL_BITS = 74
_STEP = 1 << 32
"""Ids of one millisecond lie a random step up to this apart, so none can be guessed."""


class Clock:
    """The system's clock, or that of a recording; tests give one of their own."""

    moment: datetime | None = None
    """How far a recording has been heard, as the time at which it was spoken; None for the time now."""

    def now(self) -> datetime:
        """Wall clock with its offset."""
        return self.moment or datetime.now().astimezone()


def stamp(moment: datetime) -> str:
    """ISO 8601 with offset, milliseconds."""
    return moment.isoformat(timespec="milliseconds")


class IdMaker:
    """Gives ids that only grow.

    Args:
        clock: where the milliseconds come from.
        random: gives a whole number from 0 below its argument.
    """

    def __init__(self, clock: Clock, random: Callable[[int], int] = secrets.randbelow) -> None:
        self._clock = clock
        self._random = random
        self._last = 0

    def saw(self, text: str) -> None:
        """Give only ids after this one from now on."""
        self._last = max(self._last, _packed(uuid.UUID(text)))

    def new(self) -> str:
        """The next id, in text form."""
        millis = int(self._clock.now().timestamp() * 1000)
        # The top bit of the tail stays clear so that counting has room within the millisecond.
        fresh = (millis << _TAIL_BITS) | self._random(1 << (_TAIL_BITS - 1))
        if fresh >> _TAIL_BITS <= self._last >> _TAIL_BITS:
            fresh = self._last + 1 + self._random(_STEP)
        self._last = fresh
        return str(_unpacked(fresh))


def id_before(text: str) -> str:
    """The id that sorts right before this one."""
    return str(_unpacked(_packed(uuid.UUID(text)) - 1))


def _packed(value: uuid.UUID) -> int:
    """The 122 bits that vary: without version and variant."""
    millis, rand_a, rand_b = value.int >> 80, (value.int >> 64) & 0xFFF, value.int & ((1 << 62) - 1)
    return (millis << _TAIL_BITS) | (rand_a << 62) | rand_b


def _unpacked(packed: int) -> uuid.UUID:
    millis, rand_a, rand_b = packed >> _TAIL_BITS, (packed >> 62) & 0xFFF, packed & ((1 << 62) - 1)
    return uuid.UUID(int=(millis << 80) | (7 << 76) | (rand_a << 64) | (2 << 62) | rand_b)
