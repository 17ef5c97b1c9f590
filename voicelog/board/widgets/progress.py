"""Long work: a bar that can be watched and a key that stops it."""

from __future__ import annotations

import threading
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.screen import ModalScreen
from textual.widgets import ProgressBar, Static
from textual.worker import Worker, WorkerState

from voicelog.board.ports import Work
from voicelog.board.workers import told
from voicelog.session.reports import FeedItem, Progress


class Progressed(Message):
    """The work is further on."""

    def __init__(self, step: Progress) -> None:
        super().__init__()
        self.step = step

    def can_replace(self, message: Message) -> bool:
        """Only the latest counts."""
        return isinstance(message, Progressed)


class WorkScreen(ModalScreen[Any]):
    """Runs `work` in a thread; gives its result, or None where it was stopped or failed."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "stop", "Stop")]

    def __init__(self, title: str, work: Work) -> None:
        super().__init__()
        self.work_title, self._work = title, work
        self.stop = threading.Event()

    def compose(self) -> ComposeResult:
        """What it is, how far it is, how to stop it."""
        with Vertical(classes="dialog"):
            yield Static(self.work_title, classes="dialog-title", markup=False)
            yield ProgressBar(total=None, id="bar", show_eta=False)
            yield Static(id="outlook", markup=False)
            yield Static("esc stop", classes="dialog-hint")

    def on_mount(self) -> None:
        """Begin once the bar is painted: work that holds the interpreter would keep it from the screen."""
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self.run_worker(self._do, name=self.work_title, thread=True, exit_on_error=False)

    def _do(self) -> Any:
        return self._work(self._report, self.stop)

    def _report(self, item: FeedItem) -> None:
        if isinstance(item, Progress):
            self.post_message(Progressed(item))

    def on_progressed(self, message: Progressed) -> None:
        """Move the bar."""
        step = message.step
        self.query_one(ProgressBar).update(total=step.total or None, progress=step.done)
        self.query_one("#outlook", Static).update(step.what)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Done, stopped or failed: close, and say why it failed."""
        if event.state is WorkerState.ERROR and self.stop.is_set():
            self.notify("Stopped", title=self.work_title, markup=False)
            self.dismiss(None)
        elif event.state is WorkerState.ERROR:
            self.notify(
                told(event.worker.error), title=self.work_title, severity="error", timeout=30, markup=False
            )
            self.dismiss(None)
        elif event.state is WorkerState.SUCCESS:
            self.dismiss(None if self.stop.is_set() else event.worker.result)

    def action_stop(self) -> None:
        """Ask the work to stop; it closes when it has."""
        self.stop.set()
        self.query_one("#outlook", Static).update("stopping …")

    def on_unmount(self) -> None:
        """Nobody waits for it any more."""
        self.stop.set()
