"""Work in threads: one way to start it and one place where every failure is shown."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any

from textual.app import App
from textual.theme import Theme
from textual.worker import Worker, WorkerState

from voicelog.board.themes import THEMES
from voicelog.errors import VoicelogError

_THEMES = {theme.name: theme for theme in THEMES}


def told(error: BaseException | None) -> str:
    """A failure as one line for people."""
    if isinstance(error, VoicelogError):
        return error.line()
    text = " ".join(f"{type(error).__name__} {error}".split())
    return f"this should not have happened ({text}); please report it"


class WorkingApp(App[None]):
    """An app whose work all goes through `start_work`, so that no failure stays unseen."""

    def wear(self, name: str) -> None:
        """Offer our own themes alone, and put one on: the screens use colours that others do not have."""
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = name
        for other in set(self.available_themes) - set(_THEMES):
            self.unregister_theme(other)

    def get_theme(self, theme_name: str) -> Theme | None:
        """The theme by name.

        Every painted line asks for it, and the inherited method puts all themes together each time.
        """
        return _THEMES.get(theme_name) or super().get_theme(theme_name)

    def start_work(self, work: Callable[[], Any], name: str) -> Worker[Any]:
        """Run `work` in a thread of its own; its failure ends up in `show_trouble`."""
        return self.run_worker(work, name=name, thread=True, exit_on_error=False)

    def start_task(self, task: Coroutine[Any, Any, Any], name: str) -> Worker[Any]:
        """Run something that waits (for a dialog) beside the screen; failures as in `start_work`."""
        return self.run_worker(task, name=name, exit_on_error=False)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Show why any worker failed, whichever it is."""
        if event.state is WorkerState.ERROR:
            self.show_trouble(told(event.worker.error), event.worker.name)

    def show_trouble(self, text: str, name: str = "") -> None:
        """Say what went wrong; it stays for half a minute."""
        self.notify(text, title=name.capitalize() or "Trouble", severity="error", timeout=30, markup=False)
