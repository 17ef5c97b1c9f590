"""Cautions that wait to be acknowledged."""

from __future__ import annotations

from textual.reactive import reactive
from textual.widgets import Static

from voicelog.session.reports import Caution


class CautionBand(Static):
    """In sight as long as a caution waits; the newest first."""

    waiting: reactive[tuple[Caution, ...]] = reactive(())

    def on_mount(self) -> None:
        """Hidden until there is something to say."""
        self.display = False

    def add(self, caution: Caution) -> None:
        """Show one more, once."""
        if all(known.id != caution.id for known in self.waiting):
            self.waiting = (caution, *self.waiting)

    def keep(self, open_ones: set[str]) -> None:
        """Take away what was acknowledged, and what another job brought up."""
        self.waiting = tuple(caution for caution in self.waiting if caution.id in open_ones)

    def watch_waiting(self) -> None:
        """Say the newest and how many wait."""
        self.display = bool(self.waiting)
        if self.waiting:
            more = f"  (and {len(self.waiting) - 1} more)" if len(self.waiting) > 1 else ""
            self.update(f"▲ CAUTION  {self.waiting[0].text}{more}  ▸ say “understood”, or press u")
