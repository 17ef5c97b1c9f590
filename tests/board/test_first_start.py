"""The guided path, by keyboard only."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Any

from textual.pilot import Pilot
from textual.widgets import Button, Input, OptionList, Static

from voicelog.board.first_start.app import FirstStartApp
from voicelog.board.first_start.parts import Choices, Parts, every_country
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.errors import VoicelogError
from voicelog.session.reports import Feed, Level, Partial, Progress

PHRASES = ("rear right door", "forty five mil")


def try_microphone(device: str, report: Feed, stop: threading.Event) -> list[str]:
    """A microphone with a faint voice."""
    report(Level(-52.0))
    return [f"{device}: the voice is faint"]


def rehearse(device: str, report: Feed, stop: threading.Event) -> list[str]:
    """The second phrase is half heard."""
    for at, (phrase, heard) in enumerate(zip(PHRASES, ("rear right door", "forty mil"), strict=True)):
        report(Progress(at, len(PHRASES), phrase))
        report(Partial(heard))
    report(Progress(len(PHRASES), len(PHRASES)))
    return ["1 of 2 phrases heard exactly"]


def check_card(path: str, country: str) -> str:
    """One card is there, and the starting card."""
    if path not in ("", "mine.toml"):
        raise VoicelogError("there is no such file", where=path)
    return f"{path or 'starting card'} for {country}"


def parts(saved: list[Choices], **other: Any) -> Parts:
    """Parts that write to `saved`."""
    known = Parts(
        lambda: ["built-in", "headset"], try_microphone, PHRASES, rehearse, check_card, saved.append
    )
    return replace(known, **other)


def guided(of: Parts, scenario: Callable[[FirstStartApp, Pilot[None]], Awaitable[None]]) -> FirstStartApp:
    """Run a scenario against the guided path."""
    app = FirstStartApp(of)

    async def run() -> None:
        async with app.run_test(size=(100, 32)) as pilot:
            await pilot.pause()
            await scenario(app, pilot)
            await pilot.pause()

    asyncio.run(asyncio.wait_for(run(), 20))
    return app


def outcome(app: FirstStartApp) -> str:
    """What the step in sight says."""
    return str(app.step.query_one(".step-outcome", Static).render())


async def until(app: FirstStartApp, pilot: Pilot[None], text: str) -> None:
    """Wait for the outcome of some work."""
    for _ in range(100):
        if text in outcome(app):
            return
        await pilot.pause(0.02)
    raise AssertionError(f"{text!r} never came: {outcome(app)!r}")


def test_the_whole_path() -> None:
    saved: list[Choices] = []

    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        await pilot.press("down", "down", "ctrl+r")
        await until(app, pilot, "headset: the voice is faint")
        assert app.query_one(LevelMeter).level == Level(-52.0)
        await pilot.press("ctrl+n", "ctrl+r")
        await until(app, pilot, "1 of 2 phrases")
        assert str(app.query_one("#phrase-heard", Static).render()) == "heard: forty mil"
        await pilot.press("ctrl+n", *"states")
        await pilot.pause()
        found = app.query_one("#countries", OptionList)
        names = [str(found.get_option_at_index(at).prompt) for at in range(found.option_count)]
        assert "US  United States" in names
        await pilot.press("tab", *["down"] * names.index("US  United States"), "tab", "down", "ctrl+n")
        await pilot.press(*"mine.toml", "ctrl+r")
        await until(app, pilot, "mine.toml for US")
        await pilot.press("ctrl+n")

    app = guided(parts(saved), scenario)
    assert saved == [Choices("headset", "US", "inch", "mine.toml")]
    assert app.result == saved[0]


def test_everything_can_be_skipped() -> None:
    saved: list[Choices] = []

    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+n", "ctrl+n", "ctrl+n", "ctrl+n")

    guided(parts(saved), scenario)
    assert saved == [Choices()]


def test_a_card_that_is_not_there_keeps_the_path_open() -> None:
    saved: list[Choices] = []

    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+n", "ctrl+n", "ctrl+n", *"gone.toml", "ctrl+n")
        await pilot.pause()
        assert "gone.toml: there is no such file" in outcome(app)
        assert saved == []
        await pilot.press("ctrl+u", "ctrl+n")

    guided(parts(saved), scenario)
    assert saved == [Choices()]


def test_going_back_keeps_what_was_chosen() -> None:
    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        await pilot.press("down", "ctrl+n", "ctrl+b")
        assert app.query_one("#devices", OptionList).highlighted == 1
        assert app.choices.device == "built-in"

    guided(parts([]), scenario)


def test_no_microphone_and_failing_work_are_told() -> None:
    def broken(device: str, report: Feed, stop: threading.Event) -> list[str]:
        raise VoicelogError("no sound library", todo="install PortAudio")

    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        assert "No microphone was found" in outcome(app)
        await pilot.press("ctrl+r")
        await until(app, pilot, "no sound library; install PortAudio")
        await pilot.pause(0.2)
        assert list(app._notifications) == []  # Once, in the step: nothing lies over the way on.
        await pilot.press("ctrl+n", "ctrl+n")
        assert app.query_one("#work", Button).disabled
        assert app.query_one("#find-country", Input).has_focus

    guided(parts([], devices=list, try_microphone=broken), scenario)


def test_a_rehearsal_ends_with_the_path() -> None:
    ended = threading.Event()

    def slow(device: str, report: Feed, stop: threading.Event) -> list[str]:
        report(Progress(0, 2, "rear right door"))
        stop.wait(10)
        ended.set()
        return []

    async def scenario(app: FirstStartApp, pilot: Pilot[None]) -> None:
        await pilot.press("ctrl+n", "ctrl+r")
        await pilot.pause(0.1)
        assert "rear right door" in str(app.query_one("#phrase", Static).render())
        await pilot.press("ctrl+q")

    app = guided(parts([], rehearse=slow), scenario)
    assert ended.wait(5)
    assert app.result is None


def test_countries_are_those_of_iso_3166() -> None:
    # ISO 3166-1 has 249 official alpha-2 codes (ISO Online Browsing Platform, from memory); the CLDR
    # adds a few exceptional reservations.
    codes = [code for code, _ in every_country()]
    assert {"GB", "US", "DE", "FR", "JP", "ZA", "AU"} <= set(codes)
    assert 245 <= len(codes) <= 265
    assert len(codes) == len(set(codes))
