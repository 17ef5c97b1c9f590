"""Ids against RFC 9562, and a clock that is set back."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.journal.clock import Clock, IdMaker

from .making import SetClock


class Fixed(Clock):
    def __init__(self, moment: datetime) -> None:
        self.moment = moment

    def now(self) -> datetime:
        return self.moment


def test_the_example_of_the_rfc() -> None:
    """RFC 9562, appendix A.6: 2022-02-22 14:22:22 -05:00, rand_a CC3, rand_b 18C4DC0C0C07398F."""
    moment = datetime.fromisoformat("2022-02-22T14:22:22.000-05:00")
    tail = (0xCC3 << 62) | 0x18C4DC0C0C07398F
    maker = IdMaker(Fixed(moment), lambda below: tail)
    assert maker.new() == "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"


def test_version_variant_and_time() -> None:
    moment = datetime(2026, 6, 1, 12, tzinfo=UTC)
    made = uuid.UUID(IdMaker(Fixed(moment)).new())
    assert (made.version, made.variant) == (7, uuid.RFC_4122)
    assert made.int >> 80 == int(moment.timestamp() * 1000)


@settings(deadline=None, max_examples=50)
@given(st.lists(st.integers(-3_600_000, 3_600_000), min_size=2, max_size=60))
def test_ids_only_grow_whatever_the_clock_does(jumps: list[int]) -> None:
    clock = SetClock(tick_s=0)
    maker = IdMaker(clock)
    ids = []
    for jump in jumps:
        clock.time += timedelta(milliseconds=jump)
        ids.append(maker.new())
    assert ids == sorted(ids)
    assert len(set(ids)) == len(ids)
    assert all(uuid.UUID(text).version == 7 for text in ids)


def test_counting_past_the_end_of_a_millisecond_goes_into_the_next() -> None:
    moment = datetime(2026, 6, 1, 12, tzinfo=UTC)
    maker = IdMaker(Fixed(moment), lambda below: below - 1)
    millis = int(moment.timestamp() * 1000)
    last = (millis << 80) | (7 << 76) | (0xFFF << 64) | (2 << 62) | ((1 << 62) - 1)
    maker.saw(str(uuid.UUID(int=last)))
    following = uuid.UUID(maker.new())
    assert following.int >> 80 == millis + 1
    assert following.version == 7


def test_ids_come_after_those_seen() -> None:
    late = IdMaker(Fixed(datetime(2040, 1, 1, tzinfo=UTC))).new()
    maker = IdMaker(Fixed(datetime(2026, 1, 1, tzinfo=UTC)))
    maker.saw(late)
    assert maker.new() > late
