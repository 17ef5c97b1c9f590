"""The band on top: whether the tool listens, said by a mark and a word, the work clock, the level."""

from __future__ import annotations

from dataclasses import dataclass

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.reactive import reactive
from textual.widgets import Static

from voicelog.board.live.work_clock import WorkClock
from voicelog.board.widgets.big_text import BigText
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.session.reports import Ear, EarChanged


@dataclass(frozen=True)
class Sign:
    """How a state of the ear is shown."""

    mark: str
    word: str
    short: str
    hint: str
    """What to do about it."""


SIGNS: dict[Ear, Sign] = {
    "listening": Sign("●", "listening", "on", ""),
    "asleep": Sign("☾", "asleep", "asleep", "say “start listening”"),
    "lost": Sign("✕", "mic gone", "gone", "plug the microphone in; nothing is being taken down"),
    "off": Sign("○", "mic off", "off", "nothing is being taken down"),
}
HEARING = Sign("◉", "hearing", "hears", "")
"""Speech is coming in just now."""
ENDED = Sign("■", "ended", "end", "the recording is at its end")


class EarBand(Horizontal):
    """Shows `ear`; a voice just being heard has a sign of its own."""

    ear: reactive[EarChanged] = reactive(EarChanged("off"))
    hearing: reactive[bool] = reactive(False)
    ended: reactive[bool] = reactive(False)

    def compose(self) -> ComposeResult:
        """The sign, the clock, and the small print on the right."""
        yield BigText(id="ear-sign")
        yield WorkClock(id="work-clock")
        with Vertical(id="ear-side"):
            yield LevelMeter(id="level")
            yield Static(id="ear-engine", markup=False)
            yield Static(id="ear-hint", markup=False)

    @property
    def sign(self) -> Sign:
        """The sign in force."""
        if self.ended:
            return ENDED
        if self.hearing and self.ear.state == "listening":
            return HEARING
        return SIGNS[self.ear.state]

    def on_mount(self) -> None:
        """Show the first state."""
        self._paint()

    def watch_ear(self) -> None:
        """The ear opened, fell asleep or lost its device."""
        self._paint()

    def watch_hearing(self) -> None:
        """A voice came or went."""
        self._paint()

    def watch_ended(self) -> None:
        """Nothing more will come."""
        self._paint()

    def _paint(self) -> None:
        if not self.query("#ear-hint"):
            return
        sign = self.sign
        self.query_one("#ear-sign", BigText).show(
            f"{sign.mark} {sign.word}", f"{sign.mark} {sign.short}", sign.mark
        )
        engine = self.ear.engine or "no engine"
        # A recording is named by its path, of which the last part tells them apart.
        device = self.ear.device.replace("\\", "/").rsplit("/", 1)[-1] or "no microphone"
        self.query_one("#ear-engine", Static).update(f"{device} · {engine}")
        self.query_one("#ear-hint", Static).update(sign.hint)
        for state in ("listening", "asleep", "lost", "off", "ended"):
            self.set_class(state == ("ended" if self.ended else self.ear.state), f"-{state}")
