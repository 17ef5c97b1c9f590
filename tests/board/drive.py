"""Drives a board by keyboard in a test, with every message it handled."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from textual.message import Message
from textual.pilot import Pilot

from voicelog.board.app import LOOK_S, BoardApp
from voicelog.board.ports import BoardSettings
from voicelog.estimate.card import load_card
from voicelog.session.reports import FeedItem, Level, Partial, Run

from .bench_clock import BenchLog
from .plain_price import price

CARD = load_card(Path(__file__).parents[2] / "demo" / "rate-card.toml")
TIMEOUT_S = 90
"""Only against a test that hangs: keys wait for a quiet moment, and a busy machine has few."""


async def looked(app: BoardApp, pilot: Pilot[None]) -> None:
    """Wait until the board has taken the latest level and words, however busy the machine is."""
    for _ in range(500):
        if not app._latest:
            break
        await pilot.pause(LOOK_S / 5)
    await pilot.pause()


class Driven:
    """An app under test, its log, and the way to press keys and wait."""

    def __init__(self, app: BoardApp, log: BenchLog, pilot: Pilot[None], messages: list[Message]) -> None:
        self.app, self.log, self.pilot, self.messages = app, log, pilot, messages

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, and let everything settle after each."""
        for key in keys:
            await self.pilot.press(key)
            await self.pilot.pause()

    async def type(self, text: str) -> None:
        """Clear the line and type on it."""
        await self.press("end", "ctrl+u", *("space" if char == " " else char for char in text))

    async def feed(self, *items: FeedItem) -> None:
        """Report as the session does."""
        for item in items:
            self.app.feed(item)
            if isinstance(item, Level | Partial):
                await looked(self.app, self.pilot)
        await self.pilot.pause()

    def text(self, selector: str) -> str:
        """What a `Static` or other text widget of the top screen shows."""
        return str(self.app.screen.query_one(selector).render())

    def bodies(self, kind: type) -> list[Any]:
        """Every event body of a class in the log, oldest first."""
        return [event.body for event in self.log.events() if isinstance(event.body, kind)]


def board(log: BenchLog, run: Run | None = None, **options: Any) -> BoardApp:
    """A board over a log, priced by the plain list, with the log's clock."""
    look = {name: options.pop(name) for name in ("light", "large_type", "wording") if name in options}
    return BoardApp(log, CARD, BoardSettings(now=lambda: log.now, **look), run, price=price, **options)


def driven(
    log: BenchLog,
    scenario: Callable[[Driven], Awaitable[None]],
    size: tuple[int, int] = (120, 40),
    **options: Any,
) -> None:
    """Run a scenario against a board."""

    async def run() -> None:
        messages: list[Message] = []
        app = board(log, **options)
        async with app.run_test(size=size, message_hook=messages.append) as pilot:
            await pilot.pause()
            await scenario(Driven(app, log, pilot, messages))

    asyncio.run(asyncio.wait_for(run(), TIMEOUT_S))
