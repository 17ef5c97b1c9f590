"""A picture of each state of the board; what they show is asserted elsewhere.

Renew after a change that was looked at: pytest tests/board/test_pictures.py --snapshot-update
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from textual.pilot import Pilot

from voicelog.board.app import BoardApp
from voicelog.board.first_start.app import FirstStartApp
from voicelog.session import reports

from .bench_clock import BenchLog
from .day import (
    asking_note,
    bare_dent,
    bare_job,
    doubtful_dent,
    finished_job,
    heard,
    invoiced_job,
    warned,
    whole_day,
)
from .drive import board, looked
from .test_first_start import parts

ENGINE = ("headset", "bench engine 1.0")
LISTENING = reports.EarChanged("listening", *ENGINE)
LOUD = reports.Level(-22.0)
SMALL, WIDE, VAST, PHONE = (80, 24), (120, 40), (200, 60), (42, 40)
SIZES = {f"{size[0]}x{size[1]}": size for size in (SMALL, WIDE, VAST, PHONE)}

Shot = Callable[..., bool]
Scene = tuple[tuple[int, int], dict[str, Any], tuple[reports.FeedItem, ...], tuple[str, ...]]

LIVE: dict[str, Callable[[], BenchLog]] = {
    "no-job": BenchLog,
    "no-dent": bare_job,
    "bare-dent": bare_dent,
    "dent": whole_day,
    "doubt": doubtful_dent,
    "question": lambda: whole_day(asking=True),
    "note-question": asking_note,
    "caution": warned,
    "finished": finished_job,
    "to-pay": invoiced_job,
    "paid": lambda: invoiced_job("184.00"),
}
"""What the records say."""
KEPT = heard(whole_day(), "method push", heard="method push with the whale tail", kept=("whale tail",))
SCENES: dict[str, Scene] = {
    "off-80x24": (SMALL, {}, (), ()),
    "hearing-120x40": (WIDE, {}, (LISTENING, LOUD, reports.Partial("method pu")), ()),
    "kept-80x24": (SMALL, {}, (LISTENING, LOUD, reports.Utterance(KEPT, "kept: whale tail", "accepted")), ()),
    "large-type-120x40": (WIDE, {"large_type": True}, (LISTENING, LOUD), ()),
    "light-120x40": (WIDE, {"light": True}, (LISTENING, LOUD), ()),
    "asleep-80x24": (SMALL, {}, (reports.EarChanged("asleep", *ENGINE),), ()),
    "device-gone-120x40": (
        WIDE,
        {},
        (reports.EarChanged("lost", *ENGINE), reports.Trouble("the headset is gone")),
        (),
    ),
    "review-80x24": (SMALL, {"review": True}, (), ()),
    "review-120x40": (WIDE, {"review": True}, (), ()),
    "review-edit-120x40": (WIDE, {"review": True}, (), ("n", "e", "6")),
}


def laid_out(pilot: Pilot[None]) -> bool:
    """Whether the screen on top has places for what it holds."""
    return any(widget.region.height for widget in pilot.app.screen.children)


def before(items: tuple[reports.FeedItem, ...] = ()) -> Callable[[Pilot[None]], Awaitable[None]]:
    """Waits for the first layout (a picture before it is blank), then reports `items`."""

    async def run(pilot: Pilot[None]) -> None:
        for _ in range(500):
            if laid_out(pilot):
                break
            await pilot.pause(0.01)
        assert laid_out(pilot)
        for item in items:
            assert isinstance(pilot.app, BoardApp)
            pilot.app.feed(item)
            await looked(pilot.app, pilot)
        await pilot.pause()

    return run


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("state", LIVE)
def test_live(state: str, size: str, snap_compare: Shot) -> None:
    shown = before((LISTENING, LOUD))
    assert snap_compare(board(LIVE[state]()), terminal_size=SIZES[size], run_before=shown)


@pytest.mark.parametrize("name", SCENES)
def test_picture(name: str, snap_compare: Shot) -> None:
    size, options, items, keys = SCENES[name]
    app = board(whole_day(), **options)
    assert snap_compare(app, terminal_size=size, run_before=before(items), press=keys)


def test_first_start(snap_compare: Shot) -> None:
    assert snap_compare(
        FirstStartApp(parts([])), terminal_size=(100, 32), run_before=before(), press=["ctrl+n", "ctrl+n"]
    )
