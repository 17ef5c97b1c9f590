"""The board's application: holds the screens, passes reports on, commits what is done by hand."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection
from functools import partial
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.binding import Binding, BindingType

from voicelog.actions.answers import answer
from voicelog.actions.change import Change, Context
from voicelog.actions.steps_and_time import acknowledge
from voicelog.actions.undo import undo
from voicelog.board.heard_log import HeardLog
from voicelog.board.live.screen import LiveScreen
from voicelog.board.messages import Fed, as_message
from voicelog.board.ports import BoardSettings, Desk, Price
from voicelog.board.review.screen import ReviewScreen
from voicelog.board.themes import DARK, LIGHT
from voicelog.board.workers import WorkingApp
from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.session.reports import Caution, EarChanged, FeedItem, Level, Partial, Run, Utterance

LOOK_S = 0.1
"""How often the level and the words being spoken are shown anew."""
POLL_S = 1.0
"""How often a board without a session looks for what others wrote."""
LEAVE_S = 5.0
"""How long the first press of the key that ends listening counts."""


class BoardApp(WorkingApp):
    """The live board, and the review desk one key away.

    Args:
        logbook: shared with the session; read under its lock.
        card: the rate card.
        settings: region, units, type and clock.
        run: the session that listens, in a thread of its own; None shows the journal only.
        desk: what the review desk can have done.
        review: begin at the review desk.
        price: prices a job in another way than by the card.
        only_shows: the journal is open for reading beside another process that writes it.
    """

    TITLE = "voicelog"
    CSS_PATH = Path(__file__).with_name("board.tcss")
    ENABLE_COMMAND_PALETTE = True
    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+q", "leave", "Quit", show=False)]

    def __init__(
        self,
        logbook: Logbook,
        card: Card,
        settings: BoardSettings | None = None,
        run: Run | None = None,
        *,
        desk: Desk | None = None,
        review: bool = False,
        price: Price | None = None,
        only_shows: bool = False,
    ) -> None:
        super().__init__()
        self.logbook = logbook
        self.settings = settings or BoardSettings()
        self.desk = desk or Desk()
        self.heards = HeardLog(logbook)
        self._last_jobs: tuple[str | None, ...] = (logbook.state.current,)
        self.live = LiveScreen(self.settings, card)
        self.stop = threading.Event()
        self._news, self._leaving = 0, False
        self._latest: dict[type[FeedItem], FeedItem] = {}
        self._run, self._review_first, self._only_shows = run, review, only_shows
        self.card = card
        self.price_list: Price = price or partial(price_job, card=card)
        self.wear((LIGHT if self.settings.light else DARK).name)

    def get_default_screen(self) -> LiveScreen:
        """The live board lies under everything else."""
        return self.live

    def on_ready(self) -> None:
        """Show what the journal holds, then begin to listen."""
        self.show_records()
        if self._review_first:
            self.action_review()
        if self._run is None:
            self.set_interval(POLL_S, self._look_for_news)
        else:
            self.start_work(self._listen, "listening")
        self.set_interval(LOOK_S, self._look)

    def _look_for_news(self) -> None:
        """Another process may be writing the journal."""
        before = self.logbook.state.current
        if self.attempt(self._refresh) and self._news:
            self._forget({before, self.logbook.state.current})
            self.show_records()

    def _refresh(self) -> None:
        self._news = self.logbook.refresh()

    def on_unmount(self) -> None:
        """The session's thread must end with the screen."""
        self.stop.set()

    def _listen(self) -> None:
        assert self._run is not None
        try:
            self._run(self.feed, self.stop)
        except Exception:
            self.feed(EarChanged("off"))
            raise

    def feed(self, item: FeedItem) -> None:
        """Take a report from any thread.

        Level and words come faster than eyes can follow; waking the screen for each would take its time
        from the recogniser in the same process.  So the latest of each waits for the next look.
        """
        if isinstance(item, Level | Partial):
            self._latest[type(item)] = item
            return
        self._latest.pop(Partial, None)
        self.post_message(Fed(item))

    def _look(self) -> None:
        """Show the latest level and words."""
        for kind in list(self._latest):
            item = self._latest.pop(kind, None)
            if item is not None:
                self.post_message(as_message(item))

    @on(Fed)
    def take_report(self, message: Fed) -> None:
        """Show a report; a finished utterance has changed the records."""
        if not self.is_running:
            # What comes while the screens are being taken down has nowhere to go.
            return
        self.live.take(message.item)
        if isinstance(message.item, Utterance | Caution):
            with self.logbook.lock:
                self.attempt(self.logbook.refresh)
                self._forget({*self._last_jobs, self.logbook.state.current})
                self._last_jobs = (self.logbook.state.current,)
            self.show_records()

    def _forget(self, jobs: Collection[str | None] | None) -> None:
        """These jobs changed; None where it is not known which."""
        for screen in self.screen_stack:
            if isinstance(screen, ReviewScreen):
                screen.forget(jobs)

    def price(self, job: Job | None) -> Estimate | None:
        """The estimate of a job, where there is a card and a job."""
        return None if job is None else self.price_list(job)

    def show_records(self) -> None:
        """Bring every screen up to the logbook's state."""
        if not self.is_running:
            return
        with self.logbook.lock:
            if self.screen is self.live:
                state = self.logbook.state
                self.live.show(state, self.price(state.job))
            for screen in self.screen_stack:
                if isinstance(screen, ReviewScreen):
                    screen.show_records()
        if self.logbook.trouble:
            self.show_trouble(self.logbook.trouble, "journal")

    def attempt(self, action: Callable[[], Any]) -> bool:
        """Do it; say so where it cannot be done."""
        try:
            action()
        except VoicelogError as error:
            self.show_trouble(error.line())
            return False
        return True

    def context(self, job: str | None = None) -> Context:
        """What an action by hand may look at: the job given, else the current one."""
        return Context(
            self.logbook.state,
            self.settings.wording.region,
            self.card,
            self.logbook.new_group(),
            self.settings.now(),
            by="hand",
            looked_at=job,
            understand=self.desk.understand,
            recall=self.logbook.store.of_group,
            office=self.desk.office,
            closes_clock=self.desk.closes_clock,
            device=self.logbook.store.device,
            invoices=lambda: self.logbook.events(kind=ev.Invoiced.TYPE),
        )

    def commit(self, change: Change) -> bool:
        """Write what was done by hand and show it, or say why not; True where something was written."""
        if not change.drafts:
            self.notify(_sentence(change.answer or "nothing to change"), severity="warning", markup=False)
            return False
        if not self._may_write() or not self.attempt(
            lambda: self.logbook.commit(change.drafts, change.group)
        ):
            return False
        self._forget({draft.job for draft in change.drafts})
        self.show_records()
        return True

    def _may_write(self) -> bool:
        if self._only_shows:
            self.notify("This board only shows; change records where the journal is open", severity="warning")
        return not self._only_shows

    def action_leave(self) -> None:
        """Close; while it listens only when asked twice, for one key ends a day's listening."""
        if self._leaving or self._run is None or self.live.has_ended:
            self.exit()
            return
        self._leaving = True
        self.notify("Still listening: once more stops it and closes the board", timeout=LEAVE_S)
        self.set_timer(LEAVE_S, self._stay)

    def _stay(self) -> None:
        self._leaving = False

    def action_light(self) -> None:
        """Turn from dark to light and back."""
        self.theme = DARK.name if self.theme == LIGHT.name else LIGHT.name

    def action_undo(self) -> None:
        """Take the last change back."""
        self._turn(redo=False)

    def action_redo(self) -> None:
        """Bring back what was taken back last."""
        self._turn(redo=True)

    def _turn(self, *, redo: bool) -> None:
        with self.logbook.lock:
            change = undo(self.context(), redo=redo)
            for draft in change.drafts:
                events = self.logbook.store.of_group(draft.body.target)  # type: ignore[attr-defined]
                self._forget({self.logbook.state.current, *(event.job for event in events)})
            if self.commit(change):
                self.notify(_sentence(change.answer), timeout=4, markup=False)

    def action_understood(self) -> None:
        """Acknowledge the cautions in sight."""
        self.commit(acknowledge(self.context()))

    def action_answer(self, choice: int) -> None:
        """Settle the open question with its first or second choice."""
        job = self.logbook.state.job
        question = None if job is None else job.question
        if question is not None and len(question.choices) >= choice:
            self.commit(answer(self.context(), question.id, question.choices[choice - 1]))

    def action_review(self) -> None:
        """Go to the review desk."""
        if not isinstance(self.screen, ReviewScreen):
            self.push_screen(ReviewScreen(), lambda _: self.show_records())


def _sentence(text: str) -> str:
    """An answer as the screen writes it."""
    return text[:1].upper() + text[1:]
