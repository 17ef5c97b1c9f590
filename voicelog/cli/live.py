"""The board over a running session."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

from voicelog.board.app import BoardApp
from voicelog.board.ports import BoardSettings, Desk, Work
from voicelog.board.words import Wording
from voicelog.cli.wiring import office_of, open_grammar
from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.grammar import Network
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.journal.clips import Clips
from voicelog.listening import Source
from voicelog.meaning.understand import understand
from voicelog.papers.letterhead import letterhead_of
from voicelog.papers.write import JOB_PAPERS, write_papers
from voicelog.session import reports
from voicelog.session.dialogue import Dialogue
from voicelog.session.listening_loop import Ear
from voicelog.settings import Settings


def live_board(
    logbook: Logbook,
    card: Card,
    settings: Settings,
    ear: Ear,
    sources: Sequence[Source],
    heard: Callable[[int, Logbook], None] = lambda number, logbook: None,
) -> None:
    """Run the board while `ear` listens to the sources, one after the other.

    Args:
        logbook, card, settings, ear, sources: what the session works with.
        heard: called when a source has ended, with its place in the sequence and the session's logbook.
    """
    ear.partials = True
    other = logbook.beside()
    dialogue = ear.dialogue

    def run(feed: reports.Feed, stop: threading.Event) -> None:
        ear.feed = feed
        dialogue.logbook = other
        try:
            for number, source in enumerate(sources):
                if stop.is_set():
                    break
                for _ in ear.hear(source, stop):
                    pass
                heard(number, other)
        except VoicelogError as error:
            feed(reports.EarChanged("off"))
            feed(reports.Trouble(error.line()))

    board = replace(board_settings(settings), now=logbook.clock.now)
    app = BoardApp(logbook, card, board, run, desk=desk(logbook, card, settings, dialogue))
    app.run()
    other.close()


def board_settings(settings: Settings, *, large: bool = False, light: bool = False) -> BoardSettings:
    """How the board shows things, by the user's settings."""
    return BoardSettings(Wording(settings.region, settings.units), large, light)


def desk(logbook: Logbook, card: Card, settings: Settings, dialogue: Dialogue | None = None) -> Desk:
    """What the review desk can have done."""
    clips = None if logbook.store.path is None else Clips.beside(logbook.store.path)

    @cache
    def network() -> Network:
        return dialogue.network if dialogue else open_grammar().network()

    return Desk(
        papers=partial(_papers, logbook, card, settings),
        clip=None if clips is None else clips.path,
        office=office_of(settings),
        closes_clock=settings.clock == "close",
        understand=lambda words: understand(words, settings.region, network()),
    )


def _papers(logbook: Logbook, card: Card, settings: Settings, job: Job) -> Work:
    """Write a job's papers beside the journal."""

    def work(feed: reports.Feed, stop: threading.Event) -> Any:
        def progress(done: float, total: float, what: str) -> None:
            if stop.is_set():
                raise VoicelogError("the papers were stopped", todo="those written so far stay")
            feed(reports.Progress(done, total, what))

        base = Path.cwd() if logbook.store.path is None else Path(logbook.store.path).parent
        return write_papers(
            logbook.state,
            card,
            letterhead_of(settings),
            base / "papers",
            jobs=[job],
            which=tuple(JOB_PAPERS),
            seal=logbook.seal,
            now=datetime.now().astimezone(),
            progress=progress,
        )

    return work
