"""Small dialogs: pick one, pick several, type something, read something.

Each gives its result through `dismiss`; None is "nothing was done".  Every one of
them can show, while the user is still choosing, what a choice would lead to.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from voicelog.board.widgets.row_list import Column, Row, RowList
from voicelog.errors import VoicelogError

T = TypeVar("T")
Outlook = Callable[[Any], str]
"""What a choice would lead to, as a line; raises `VoicelogError` where it cannot stand."""


class Dialog(ModalScreen[T | None], Generic[T]):
    """A box in the middle of the screen with a title and a line on what the choice leads to."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Cancel")]

    def __init__(self, title: str, hint: str, outlook: Outlook | None = None, about: str = "") -> None:
        super().__init__()
        self.dialog_title, self.hint, self._outlook, self._about = title, hint, outlook, about

    def compose(self) -> ComposeResult:
        """Title, body, outlook, hint."""
        with Vertical(classes="dialog"):
            yield Static(self.dialog_title, classes="dialog-title", markup=False)
            if self._about:
                yield Static(self._about, id="about", markup=False)
            yield from self.body()
            yield Static(id="outlook", markup=False)
            yield Static(self.hint, classes="dialog-hint", markup=False)

    def body(self) -> ComposeResult:
        """What the dialog is about."""
        yield from ()

    def look_ahead(self, choice: Any) -> bool:
        """Show what `choice` leads to; True where it can stand."""
        line = self.query_one("#outlook", Static)
        line.remove_class("-wrong")
        try:
            line.update(self._outlook(choice) if self._outlook else "")
        except VoicelogError as error:
            line.add_class("-wrong")
            line.update(f"✕ {error.line()}")
            return False
        return True

    def action_leave(self) -> None:
        """Close without doing anything."""
        self.dismiss(None)


class Pick(Dialog[Any]):
    """Choose one of several; the current value is highlighted at first.  What was said can be heard."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("p", "play", "Play")]

    def __init__(
        self,
        title: str,
        choices: Sequence[tuple[str, Any]],
        current: Any = None,
        outlook: Outlook | None = None,
        *,
        about: str = "",
        play: Callable[[], None] | None = None,
    ) -> None:
        hint = f"↑ ↓ choose · enter take{' · p hear it' if play else ''} · esc leave"
        super().__init__(title, hint, outlook, about)
        self.choices, self._current, self._play = list(choices), current, play

    def action_play(self) -> None:
        """Hear what was said."""
        if self._play is not None:
            self._play()

    def body(self) -> ComposeResult:
        """The choices."""
        yield OptionList(*(Option(text) for text, _ in self.choices), id="choices", markup=False)

    def on_mount(self) -> None:
        """Start on the current value."""
        values = [value for _, value in self.choices]
        self.query_one(OptionList).highlighted = values.index(self._current) if self._current in values else 0

    @on(OptionList.OptionHighlighted)
    def show_outlook(self, event: OptionList.OptionHighlighted) -> None:
        """Another choice is looked at."""
        self.look_ahead(self.choices[event.option_index][1])

    @on(OptionList.OptionSelected)
    def take(self, event: OptionList.OptionSelected) -> None:
        """A choice is made."""
        value = self.choices[event.option_index][1]
        if self.look_ahead(value):
            self.dismiss(value)


class PickMany(Dialog[tuple[Any, ...]]):
    """Choose any number of several; a tick is a sign, never a colour alone."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("space", "tick", "Tick", priority=True),
        Binding("enter", "take", "Take", priority=True),
    ]

    def __init__(
        self,
        title: str,
        choices: Sequence[tuple[str, Any]],
        current: Sequence[Any],
        outlook: Outlook | None = None,
    ) -> None:
        super().__init__(title, "↑ ↓ move · space or click tick · enter take · esc leave", outlook)
        self.choices, self._ticked = list(choices), set(current)

    def body(self) -> ComposeResult:
        """The choices with their ticks."""
        yield OptionList(
            *(Option(self._line(at)) for at in range(len(self.choices))), id="choices", markup=False
        )

    def _line(self, at: int) -> str:
        text, value = self.choices[at]
        return f"[{'✓' if value in self._ticked else ' '}] {text}"

    @property
    def ticked(self) -> tuple[Any, ...]:
        """The values ticked, in the order of the choices."""
        return tuple(value for _, value in self.choices if value in self._ticked)

    def on_mount(self) -> None:
        """Start at the top."""
        self.query_one(OptionList).highlighted = 0
        self.look_ahead(self.ticked)

    @on(OptionList.OptionSelected)
    def action_tick(self) -> None:
        """Tick the current line, or take its tick away."""
        options = self.query_one(OptionList)
        at = options.highlighted
        if at is not None:
            self._ticked ^= {self.choices[at][1]}
            options.replace_option_prompt_at_index(at, self._line(at))
            self.look_ahead(self.ticked)

    def action_take(self) -> None:
        """Take what is ticked."""
        if self.look_ahead(self.ticked):
            self.dismiss(self.ticked)


class Ask(Dialog[str]):
    """Type one thing; checked at every key."""

    def __init__(self, title: str, text: str = "", outlook: Outlook | None = None) -> None:
        super().__init__(title, "type · enter take · esc leave", outlook)
        self._text = text

    def body(self) -> ComposeResult:
        """The line to type on."""
        yield Input(self._text, id="typed")
        with Horizontal(classes="dialog-buttons"):
            yield Button("Take", id="take", variant="primary")
            yield Button("Leave", id="leave")

    @on(Input.Changed)
    def show_outlook(self, event: Input.Changed) -> None:
        """Another text stands there."""
        self.look_ahead(event.value)

    @on(Input.Submitted)
    @on(Button.Pressed, "#take")
    def take(self) -> None:
        """Take the text where it can stand."""
        text = self.query_one(Input).value
        if self.look_ahead(text):
            self.dismiss(text)

    @on(Button.Pressed, "#leave")
    def leave(self) -> None:
        """Close without doing anything."""
        self.action_leave()


class Show(Dialog[None]):
    """A table to read."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "leave", "Close", priority=True)]

    def __init__(self, title: str, columns: Sequence[Column], rows: Sequence[Row]) -> None:
        super().__init__(title, "↑ ↓ move · esc close")
        self._columns, self.rows = columns, rows

    def body(self) -> ComposeResult:
        """The rows."""
        yield RowList(self._columns, lambda at: self.rows[at], key=lambda at: at, id="shown")

    def on_mount(self) -> None:
        """Fill the table."""
        self.query_one(RowList).show(range(len(self.rows)))
