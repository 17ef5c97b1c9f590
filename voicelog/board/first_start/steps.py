"""The four steps: each asks one thing, may be skipped, and never loses what was chosen before."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input, OptionList, ProgressBar, Static
from textual.widgets.option_list import Option

from voicelog.board.first_start.parts import Choices, Parts
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.session import reports


class Step(Vertical):
    """One step: a heading, what to do, and a line for what came of it."""

    heading: ClassVar[str] = ""
    advice: ClassVar[str] = ""
    work_title: ClassVar[str] = ""
    """What ctrl+r does here; empty where it does nothing."""

    def __init__(self, parts: Parts) -> None:
        super().__init__(id=type(self).__name__.lower())
        self.parts = parts

    def compose(self) -> ComposeResult:
        """Heading, advice, body, outcome."""
        yield Static(self.heading, classes="dialog-title", markup=False)
        yield Static(self.advice, classes="step-advice", markup=False)
        yield from self.body()
        yield Static(classes="step-outcome", markup=False)

    def body(self) -> ComposeResult:
        """What can be chosen or seen."""
        yield from ()

    def tell(self, text: str) -> None:
        """Show what came of it."""
        self.query_one(".step-outcome", Static).update(text)

    def begin(self, choices: Choices) -> None:
        """The step comes into sight."""

    def chosen(self, choices: Choices) -> Choices:
        """The choices with what was chosen here."""
        return choices

    def take(self, item: reports.FeedItem) -> None:
        """A report of the work of this step."""

    def done(self, lines: object) -> None:
        """The work of this step gave its lines."""
        self.tell("\n".join(str(line) for line in lines) if isinstance(lines, (list, tuple)) else str(lines))


class MicrophoneStep(Step):
    """Choose a microphone and see that sound arrives."""

    heading = "1 of 4 · Microphone"
    advice = "Choose the microphone you wear at work, then press ctrl+r and speak as beside a car."
    work_title = "Try it"

    def body(self) -> ComposeResult:
        """The devices and the level."""
        yield OptionList(id="devices", markup=False)
        yield LevelMeter()

    def begin(self, choices: Choices) -> None:
        """List the devices."""
        names = list(self.parts.devices())
        options = self.query_one(OptionList)
        options.clear_options()
        options.add_options([Option("system default"), *(Option(name) for name in names)])
        self._names = ["", *names]
        options.highlighted = self._names.index(choices.device) if choices.device in self._names else 0
        if not names:
            self.tell("No microphone was found. Plug one in and come back here, or go on without.")

    def chosen(self, choices: Choices) -> Choices:
        """With the device."""
        at = self.query_one(OptionList).highlighted
        return replace(choices, device=self._names[at] if at is not None else "")

    def take(self, item: reports.FeedItem) -> None:
        """The level moves."""
        if isinstance(item, reports.Level):
            self.query_one(LevelMeter).level = item

    def done(self, lines: object) -> None:
        """Say what is wrong, or that nothing is."""
        super().done(lines or ["✓ The sound is good."])


class RehearsalStep(Step):
    """Say ten phrases and see which words are lost."""

    heading = "2 of 4 · Rehearsal"
    advice = "Press ctrl+r and say each phrase as it appears, with the noise you have at work."
    work_title = "Rehearse"

    def body(self) -> ComposeResult:
        """The phrase to say, what was heard of the last, and how far it is."""
        yield Static("", id="phrase", markup=False)
        yield Static("", id="phrase-heard", markup=False)
        yield ProgressBar(total=len(self.parts.phrases), show_eta=False)

    def take(self, item: reports.FeedItem) -> None:
        """The next phrase is due, or the last was heard."""
        if isinstance(item, reports.Progress):
            self.query_one("#phrase", Static).update(f"say: “{item.what}”" if item.what else "")
            self.query_one(ProgressBar).update(total=item.total, progress=item.done)
        elif isinstance(item, reports.Partial):
            self.query_one("#phrase-heard", Static).update(f"heard: {item.words or 'nothing'}")


class RegionStep(Step):
    """Country and unit of length."""

    heading = "3 of 4 · Region and units"
    advice = "The country decides nearside and offside, trade words, tax and money. Type to find it."

    def body(self) -> ComposeResult:
        """A line to find the country, the countries, the units."""
        yield Input(placeholder="country", id="find-country")
        yield OptionList(id="countries", markup=False)
        yield OptionList(
            Option("lengths in millimetres"), Option("lengths in inches"), id="units", markup=False
        )

    def begin(self, choices: Choices) -> None:
        """Start on the country and unit chosen so far."""
        if not self.query_one("#countries", OptionList).option_count:
            self._find(choices.country)
        self.query_one("#units", OptionList).highlighted = 0 if choices.units == "mm" else 1

    @on(Input.Changed, "#find-country")
    def find(self, event: Input.Changed) -> None:
        """Show the countries that hold what is typed."""
        self._find(self._code(), event.value)

    def _find(self, current: str, text: str = "") -> None:
        wanted = text.lower()
        self._found = [
            (code, name) for code, name in self.parts.countries
            if wanted in name.lower() or wanted == code.lower()
        ]  # fmt: skip
        options = self.query_one("#countries", OptionList)
        options.clear_options()
        options.add_options([Option(f"{code}  {name}") for code, name in self._found])
        codes = [code for code, _ in self._found]
        options.highlighted = codes.index(current) if current in codes else (0 if codes else None)

    def _code(self) -> str:
        at = self.query_one("#countries", OptionList).highlighted
        return self._found[at][0] if at is not None and self._found else "GB"

    def chosen(self, choices: Choices) -> Choices:
        """With country and unit."""
        inches = self.query_one("#units", OptionList).highlighted == 1
        return replace(choices, country=self._code(), units="inch" if inches else "mm")


class CardStep(Step):
    """The rate card."""

    heading = "4 of 4 · Rate card"
    advice = (
        "Give the path of your rate card, or leave the line empty for the starting card of your country. "
        "Its figures are invented: set your own before you quote."
    )
    work_title = "Check it"

    def body(self) -> ComposeResult:
        """The path."""
        yield Input(placeholder="path of a rate card (TOML), or nothing", id="card-path")

    def begin(self, choices: Choices) -> None:
        """Start on the card chosen so far."""
        self.query_one(Input).value = choices.card

    def chosen(self, choices: Choices) -> Choices:
        """With the path."""
        return replace(choices, card=self.query_one(Input).value.strip())


STEPS: tuple[type[Step], ...] = (MicrophoneStep, RehearsalStep, RegionStep, CardStep)
