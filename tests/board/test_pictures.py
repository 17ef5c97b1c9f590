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
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.session import reports

from .day import whole_day
from .drive import board, looked
from .test_first_start import parts

ENGINE = ("headset", "bench engine 1.0")
LISTENING = reports.EarChanged("listening", *ENGINE)
LOUD = reports.Level(-22.0)
CAUTION = reports.Caution(
    "solvent-heat", "Solvent was wiped minutes ago: keep the heat gun away until it is dry."
)
SMALL, WIDE = (80, 24), (120, 40)

Shot = Callable[..., bool]
Scene = tuple[tuple[int, int], dict[str, Any], tuple[reports.FeedItem, ...], tuple[str, ...]]

SCENES: dict[str, Scene] = {
    "listening-80x24": (SMALL, {}, (LISTENING, LOUD), ()),
    "hearing-120x40": (WIDE, {}, (LISTENING, LOUD, reports.Partial("method pu")), ()),
    "large-type-80x24": (SMALL, {"large_type": True}, (LISTENING, LOUD), ()),
    "large-type-120x40": (WIDE, {"large_type": True}, (LISTENING, LOUD), ()),
    "light-120x40": (WIDE, {"light": True}, (LISTENING, LOUD), ()),
    "asleep-and-caution-80x24": (SMALL, {}, (reports.EarChanged("asleep", *ENGINE), CAUTION), ()),
    "device-gone-120x40": (
        WIDE,
        {},
        (reports.EarChanged("lost", *ENGINE), reports.Trouble("the headset is gone")),
        (),
    ),
    "question-80x24": (SMALL, {"asking": True}, (LISTENING, LOUD), ()),
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


@pytest.mark.parametrize("name", SCENES)
def test_picture(name: str, snap_compare: Shot) -> None:
    size, options, items, keys = SCENES[name]
    asking = bool(options.get("asking"))
    log = whole_day(asking=asking)
    cautions = [item.id for item in items if isinstance(item, reports.Caution)]
    if cautions:  # The session notes a caution before it reports it.
        log.commit([Draft(ev.Cautioned(caution), log.state.current) for caution in cautions])
    app = board(log, **{key: value for key, value in options.items() if key != "asking"})
    assert snap_compare(app, terminal_size=size, run_before=before(items), press=keys)


def test_first_start(snap_compare: Shot) -> None:
    assert snap_compare(
        FirstStartApp(parts([])), terminal_size=(100, 32), run_before=before(), press=["ctrl+n", "ctrl+n"]
    )
