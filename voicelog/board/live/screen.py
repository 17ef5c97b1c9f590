"""The live board: for a glance from three metres between two pulls."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.events import Resize
from textual.reactive import reactive
from textual.screen import Screen
from textual.timer import Timer
from textual.widgets import Footer, Static

from voicelog.board.live.caution_band import CautionBand, caution_line, waiting
from voicelog.board.live.ear_band import EarBand
from voicelog.board.live.heard_line import Hearing
from voicelog.board.live.open_dent import OpenDent
from voicelog.board.live.question_card import QuestionCard
from voicelog.board.live.sizes import NARROW_COLUMNS, Sizes, fit
from voicelog.board.live.total_band import TotalBand
from voicelog.board.live.work_clock import WorkClock
from voicelog.board.ports import BoardSettings
from voicelog.board.widgets.big_text import BigText
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.records import Job, State
from voicelog.session import reports

SILENCE_S = 5.0
"""Words that nothing comes of (a memo, a cough) stay in sight for so long."""
WIDE_COLUMNS = 100
"""Columns from which there is room for seconds and small print at the side."""


class LiveScreen(Screen[None]):
    """Shows the state it is given and the reports of the session; decides nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("r", "app.review", "Review"),
        Binding("q", "app.leave", "Quit"),
        Binding("f", "large_type", "Large type"),
        Binding("t", "app.light", "Light/dark"),
        Binding("u", "app.understood", "Understood"),
        Binding("1", "app.answer(1)", "First", show=False),
        Binding("2", "app.answer(2)", "Second", show=False),
        Binding("ctrl+z", "app.undo", "Undo"),
        Binding("ctrl+y", "app.redo", "Redo", show=False),
    ]

    large_type: reactive[bool] = reactive(False)

    def __init__(self, settings: BoardSettings, card: Card) -> None:
        super().__init__()
        self.settings, self._card = settings, card
        self._job: Job | None = None
        self._silence: Timer | None = None
        self.set_reactive(LiveScreen.large_type, settings.large_type)

    def compose(self) -> ComposeResult:
        """From top to bottom: ear, words, cautions, what is worked on, question, total."""
        yield EarBand(id="ear")
        yield Hearing(id="hearing")
        yield CautionBand(id="caution", markup=False)
        yield Static(id="mode", markup=False)
        yield OpenDent(id="dent")
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
        """Without footer, slots and plan, or with them."""
        if self.is_mounted:
            self._fit()

    def action_large_type(self) -> None:
        """Show fewer things, larger."""
        self.large_type = not self.large_type

    @property
    def asking(self) -> bool:
        """Whether a question is open on the job in hand."""
        return self._job is not None and self._job.question is not None

    @property
    def has_ended(self) -> bool:
        """Whether nothing listens any more."""
        band = self.query_one(EarBand)
        return band.ended or band.ear.state == "off"

    def _fit(self) -> None:
        """Give every band the letters for which there is room, then draw the job."""
        columns, rows = self.size
        line = caution_line(waiting(self._job))
        mode = self.query_one("#mode").display
        small_print = -(-len(line) // max(1, columns - 2)) + mode + (not self.large_type)
        sizes = fit(columns, rows, asking=self.asking, small_print=small_print)
        self._resize(sizes)
        self.set_class(self.large_type, "-large-type")
        self.set_class(not sizes.ear, "-low")
        self.set_class(columns >= WIDE_COLUMNS, "-wide")
        self.set_class(columns < NARROW_COLUMNS, "-narrow")
        plan = "" if self.large_type else sizes.plan
        self.query_one(OpenDent).show(self._job, self._card, self.settings.wording, plan)

    def _resize(self, sizes: Sizes) -> None:
        self.query_one(OpenDent).fit(sizes, asking=self.asking)
        self.query_one(QuestionCard).fit(sizes.letters, sizes.lines)
        self.query_one("#ear-sign", BigText).tallest = sizes.ear
        total, clock = self.query_one("#total-figure", BigText), self.query_one(WorkClock)
        total.tallest, total.most_lines = sizes.letters, sizes.total_lines
        clock.tallest, clock.short = min(1, sizes.ear), self.size.width < WIDE_COLUMNS

    def show(self, state: State, estimate: Estimate | None) -> None:
        """Show another state of the records."""
        self._job = job = state.job
        wording = self.settings.wording
        self.query_one(TotalBand).show(estimate, wording)
        self.query_one(WorkClock).follow(job.timer if job else None, self.settings.now)
        self.query_one(QuestionCard).show([] if job is None else job.waiting, wording)
        self.query_one(CautionBand).show(job)
        self.show_mode("")
        self._fit()

    def show_mode(self, text: str) -> None:
        """Say in a line of its own which mode the work is in (counting hail, say); empty for none."""
        band = self.query_one("#mode", Static)
        band.display = bool(text)
        band.update(text)

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
            case reports.EarChanged():
                ear.ear, ear.hearing, ear.ended, hearing.partial = item, False, False, ""
                self._clear_level(item.state)
            case reports.Trouble(text):
                hearing.trouble = text
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
