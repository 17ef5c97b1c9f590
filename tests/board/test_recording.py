"""A real recording drives the live board: sound, engine, dialogue, journal, screen."""

from __future__ import annotations

import asyncio
import threading

import pytest
from textual.message import Message

from voicelog.board.app import BoardApp
from voicelog.board.live.heard_line import Hearing
from voicelog.board.messages import Fed, PartialFed
from voicelog.board.ports import BoardSettings
from voicelog.board.widgets.big_text import BigText
from voicelog.cli.demo import load_day
from voicelog.cli.wiring import open_dialogue, open_ears
from voicelog.jobs.logbook import Logbook
from voicelog.listening import Recording
from voicelog.session import reports
from voicelog.session.listening_loop import Ear

UTTERANCES = 3
TIMEOUT_S = 120


def test_recording_fills_the_board() -> None:
    pytest.importorskip("pocketsphinx")
    day = load_day()
    logbook = Logbook.in_memory()
    dialogue = open_dialogue(logbook.beside(), day.card, day.settings)
    ear = Ear(dialogue, open_ears(None, day.settings))
    ear.partials = True
    done = threading.Event()

    def run(report: reports.Feed, stop: threading.Event) -> None:
        ear.feed = report
        for number, _ in enumerate(ear.hear(Recording(day.recordings[0]), stop), 1):
            if number == UTTERANCES:
                break
        done.set()

    messages: list[Message] = []

    async def scenario() -> None:
        app = BoardApp(logbook, day.card, BoardSettings(), run)
        async with app.run_test(size=(120, 40), message_hook=messages.append) as pilot:
            while not done.is_set():
                await pilot.pause(0.05)
            await pilot.pause(0.1)
            job = logbook.state.job
            assert job is not None
            assert job.title in str(app.live.query_one("#dent-head").render())
            last = [event.body for event in logbook.heards()][-1]
            assert app.live.query_one(Hearing).last == reports.Utterance(last, last.answer, last.decision)
            if job.open_dent is not None:
                place = app.settings.wording.place(job.dents[job.open_dent].place)
                assert app.live.query_one("#dent-place", BigText).texts[0] == place

    asyncio.run(asyncio.wait_for(scenario(), TIMEOUT_S))
    items = [message.item for message in messages if isinstance(message, Fed)]
    assert next(item.state for item in items if isinstance(item, reports.EarChanged)) == "listening"
    assert len([item for item in items if isinstance(item, reports.Utterance)]) == UTTERANCES
    partials = [message.item.words for message in messages if isinstance(message, PartialFed)]
    assert len({words for words in partials if words}) >= UTTERANCES
