"""The guided path of the first start; gives the choices, or None where the user leaves it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Button, ContentSwitcher, Footer, Static
from textual.worker import Worker, WorkerState

from voicelog.board.first_start.parts import Choices, Parts, every_country
from voicelog.board.first_start.steps import STEPS, CardStep, MicrophoneStep, RehearsalStep, Step
from voicelog.board.messages import Fed, as_message
from voicelog.board.themes import DARK
from voicelog.board.workers import WorkingApp, told
from voicelog.errors import VoicelogError
from voicelog.session.reports import FeedItem


class FirstStartApp(WorkingApp):
    """Four steps; nothing is written before the last one is done."""

    CSS_PATH = Path(__file__).parent.with_name("board.tcss")
    TITLE = "voicelog, first start"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+n", "next", "Next", priority=True),
        Binding("ctrl+b", "previous", "Back", priority=True),
        Binding("ctrl+r", "work", "Try", priority=True),
        Binding("escape", "stop", "Stop", show=False),
        Binding("ctrl+q", "quit", "Leave"),
    ]

    def __init__(self, parts: Parts, choices: Choices | None = None) -> None:
        super().__init__()
        self.parts = parts if parts.countries else replace(parts, countries=every_country())
        self.choices = choices or Choices()
        self.result: Choices | None = None
        self.at = 0
        self.stop = threading.Event()
        self._work: Worker[Any] | None = None
        self.wear(DARK.name)

    def compose(self) -> ComposeResult:
        """The steps, one of them in sight, and the ways on."""
        with ContentSwitcher(initial=STEPS[0].__name__.lower(), id="steps"):
            for step in STEPS:
                yield step(self.parts)
        with Horizontal(classes="dialog-buttons"):
            yield Button("Try (ctrl+r)", id="work")
            yield Button("Back (ctrl+b)", id="back")
            yield Button("Next (ctrl+n)", id="next", variant="primary")
        yield Static("Everything here can be skipped and set later in the settings file.", id="first-hint")
        yield Footer()

    def on_ready(self) -> None:
        """Begin with the microphone."""
        self._begin()

    def on_unmount(self) -> None:
        """No thread may outlive the screen."""
        self.stop.set()

    @property
    def step(self) -> Step:
        """The step in sight."""
        return self.query_one(f"#{STEPS[self.at].__name__.lower()}", Step)

    def _begin(self) -> None:
        step = self.step
        self.query_one(ContentSwitcher).current = step.id
        self.query_one("#work", Button).disabled = not step.work_title
        self.query_one("#work", Button).label = f"{step.work_title or 'Try'} (ctrl+r)"
        self.query_one(
            "#next", Button
        ).label = f"{'Finish' if self.at == len(STEPS) - 1 else 'Next'} (ctrl+n)"
        self._attempt(lambda: step.begin(self.choices))
        first = next((widget for widget in step.query("Input, OptionList")), None)
        if first is not None:
            first.focus()

    def _attempt(self, action: Callable[[], None]) -> bool:
        try:
            action()
        except VoicelogError as error:
            self.step.tell(f"✕ {error.line()}")
            return False
        return True

    @on(Button.Pressed, "#next")
    def action_next(self) -> None:
        """Keep the choice and go on; after the last step check and write everything."""
        self.stop.set()
        self.choices = self.step.chosen(self.choices)
        if self.at < len(STEPS) - 1:
            self.at += 1
            self._begin()
        elif self._attempt(self._finish):
            self.result = self.choices
            self.exit()

    def _finish(self) -> None:
        self.parts.check_card(self.choices.card, self.choices.country)
        self.parts.save(self.choices)

    @on(Button.Pressed, "#back")
    def action_previous(self) -> None:
        """Keep the choice and go back."""
        self.stop.set()
        self.choices = self.step.chosen(self.choices)
        self.at = max(0, self.at - 1)
        self._begin()

    @on(Button.Pressed, "#work")
    def action_work(self) -> None:
        """Do what the step offers to do."""
        step = self.step
        if not step.work_title or (self._work is not None and self._work.is_running):
            return
        self.choices = step.chosen(self.choices)
        choices, stop = self.choices, threading.Event()
        self.stop = stop
        works: dict[type[Step], Callable[[], object]] = {
            MicrophoneStep: lambda: self.parts.try_microphone(choices.device, self.feed, stop),
            RehearsalStep: lambda: self.parts.rehearse(choices.device, self.feed, stop),
            CardStep: lambda: ["✓ " + self.parts.check_card(choices.card, choices.country)],
        }
        step.tell("…")
        self._work = self.start_work(works[type(step)], step.work_title)

    def action_stop(self) -> None:
        """Stop what runs."""
        self.stop.set()

    def feed(self, item: FeedItem) -> None:
        """Take a report from any thread."""
        self.post_message(as_message(item))

    @on(Fed)
    def take_report(self, message: Fed) -> None:
        """Show a report in the step in sight."""
        if self.is_running:
            self.step.take(message.item)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show what the work gave, or why it failed, in the step itself; the rest goes to the class below.

        That class is called for the same event by itself: both would tell a failure twice.
        """
        if event.worker is not self._work:
            return
        event.prevent_default()
        if event.state is WorkerState.ERROR:
            self.step.tell(f"✕ {told(event.worker.error)}")
        elif event.state is WorkerState.SUCCESS:
            self.step.done(event.worker.result)
