"""The live board: for a glance from three metres between two pulls."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import Resize
from textual.reactive import reactive
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Footer, Static

from voicelog.board.live.car_plan import plan
from voicelog.board.live.caution_band import CautionBand
from voicelog.board.live.ear_band import EarBand
from voicelog.board.live.heard_line import Hearing
from voicelog.board.live.open_dent import OpenDent
from voicelog.board.live.plan_view import PlanView
from voicelog.board.live.question_card import QuestionCard
from voicelog.board.live.total_band import TotalBand
from voicelog.board.live.work_clock import WorkClock
from voicelog.board.ports import BoardSettings
from voicelog.board.widgets.big_text import BigText
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.records import Job, State
from voicelog.session import reports

TALL_ROWS, VAST_ROWS = 36, 72
"""Rows from which letters are drawn at double and at fourfold size."""
SILENCE_S = 5.0
"""Words that nothing comes of (a memo, a cough) stay in sight for so long."""
WIDE_COLUMNS = 100
"""Columns from which there is room for seconds and for the large plan."""


class LiveScreen(Screen[None]):
    """Shows the state it is given and the reports of the session; decides nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "app.review", "Review"),
        Binding("f", "large_type", "Large type"),
        Binding("t", "app.light", "Light/dark"),
        Binding("u", "app.understood", "Understood"),
        Binding("1", "app.answer(1)", "First", show=False),
        Binding("2", "app.answer(2)", "Second", show=False),
        Binding("ctrl+z", "app.undo", "Undo"),
        Binding("ctrl+y", "app.redo", "Redo", show=False),
        Binding("q", "app.quit", "Quit"),
    ]

    large_type: reactive[bool] = reactive(False)

    def __init__(self, settings: BoardSettings) -> None:
        super().__init__()
        self.settings = settings
        self._job: Job | None = None
        self._question_is_new = True
        self._silence: Timer | None = None
        self.set_reactive(LiveScreen.large_type, settings.large_type)

    def compose(self) -> ComposeResult:
        """From top to bottom: ear, words, cautions, dent or question, total."""
        yield EarBand(id="ear")
        yield Hearing(id="hearing")
        yield CautionBand(id="caution", markup=False)
        with Horizontal(id="middle"):
            yield OpenDent(id="dent")
            with Vertical(id="plan-side"):
                yield Static(id="plan-head", markup=False)
                yield PlanView(id="plan")
        yield QuestionCard(id="question")
        yield TotalBand(id="total")
        yield Footer()

    def on_mount(self) -> None:
        """Choose sizes before the first picture."""
        self._fit()

    def on_resize(self, event: Resize) -> None:
        """The terminal has another size."""
        self._fit()

    def watch_large_type(self) -> None:
        """Fewer and larger things, or all of them."""
        if self.is_mounted:
            self._fit()

    def action_large_type(self) -> None:
        """Show fewer things, larger."""
        self.large_type = not self.large_type

    def _fit(self) -> None:
        rows = self.size.height
        self.set_class(self.large_type, "-large-type")
        self.set_class(rows >= TALL_ROWS, "-tall")
        self.set_class(self.size.width < 72, "-narrow")
        scale = 4 if rows >= VAST_ROWS else 2 if rows >= TALL_ROWS - 6 * self.large_type else 1
        for text in self.query(BigText):
            text.tallest = scale
        self.query_one("#dent-place", BigText).most_lines = (
            2 if rows >= TALL_ROWS and not self.has_class("-question-waits") else 1
        )
        self.query_one("#dent-size", BigText).largest_first = self.large_type
        # Question choices have the middle of the screen to themselves.
        waits = self.has_class("-question-waits")
        for text in self.query_one(QuestionCard).query(BigText):
            text.tallest = 1 if waits else max(2, scale)
        if rows < TALL_ROWS:
            self.query_one("#ear-sign", BigText).tallest = 1
            self.query_one("#total-figure", BigText).tallest = 1
        clock = self.query_one(WorkClock)
        clock.tallest, clock.short = (1 if rows < VAST_ROWS else 2), self.size.width < WIDE_COLUMNS
        self._draw_plan()

    def show(self, state: State, estimate: Estimate | None) -> None:
        """Show another state of the records."""
        self._job = state.job
        job, wording = state.job, self.settings.wording
        self.query_one(OpenDent).show(job, wording)
        self.query_one(TotalBand).show(estimate, wording)
        self.query_one(WorkClock).follow(job.timer if job else None, self.settings.now)
        question = None if job is None else job.question
        card = self.query_one(QuestionCard)
        card.display = question is not None
        # Whoever goes on working past a question needs to see the open dent again.
        self.query_one("#middle").display = question is None or not self._question_is_new
        waits = question is not None and not self._question_is_new
        if waits != self.has_class("-question-waits"):
            self.set_class(waits, "-question-waits")
            self._fit()
        if question is not None and job is not None:
            card.show(job.waiting, wording)
        cautions = {} if job is None else job.cautions
        self.query_one(CautionBand).keep({caution for caution, done in cautions.items() if not done})
        self._draw_plan()

    def _draw_plan(self) -> None:
        job = self._job
        dents = list(job.listed()) if job else []
        large = self.size.height >= TALL_ROWS and self.size.width >= WIDE_COLUMNS
        drawn = plan(dents, job.open_dent if job else None, self.settings.wording, large=large)
        self.query_one(PlanView).plan = drawn
        self.query_one("#plan-head", Static).update(job.title if job else "")

    def take(self, item: reports.FeedItem) -> None:
        """Show a report of the session."""
        ear, hearing = self.query_one(EarBand), self.query_one(Hearing)
        match item:
            case reports.Partial(words):
                self._hear(words)
            case reports.Level():
                self.query_one(LevelMeter).level = item
            case reports.Utterance():
                hearing.partial, hearing.last, hearing.trouble = "", item, ""
                ear.hearing = False
                if item.decision != "rejected":
                    self._question_is_new = item.decision == "asked" or item.heard.kind == "answer"
            case reports.EarChanged():
                ear.ear, ear.hearing, ear.ended, hearing.partial = item, False, False, ""
                self._clear_level(item.state)
            case reports.Trouble(text):
                hearing.trouble = text
            case reports.Caution():
                self.query_one(CautionBand).add(item)
            case reports.Ended():
                ear.ended, hearing.partial = True, ""
                self._clear_level("off")
            case reports.Progress(done, total, what):
                share = f"{done / total:.0%}" if total else ""
                self.query_one("#ear-hint", Static).update(f"{what} {share}".strip())

    def _hear(self, words: str) -> None:
        """Show the words of an utterance; one that comes to nothing is gone after a while."""
        self.query_one(Hearing).partial = words
        self.query_one(EarBand).hearing = bool(words)
        if self._silence is not None:
            self._silence.stop()
        self._silence = self.set_timer(SILENCE_S, lambda: self._hear("")) if words else None

    def _clear_level(self, state: reports.Ear) -> None:
        if state in ("lost", "off"):
            self.query_one(LevelMeter).level = None
