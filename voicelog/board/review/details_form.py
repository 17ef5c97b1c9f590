"""Car and customer, typed: the details that are not spoken beside the car."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Label, Static, TextArea

from voicelog.board.review.typed import identifier, remark
from voicelog.board.words import Wording, label
from voicelog.jobs.records import Job

DETAILS = ("plate", "vin", "vehicle", "customer", "phone", "email", "address")
"""One line each; `notes` has several."""


class DetailsForm(ModalScreen[dict[str, str] | None]):
    """Gives every detail as typed; None where the user leaves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "save", "Save"),
        Binding("escape", "leave", "Leave"),
    ]

    def __init__(self, job: Job, wording: Wording) -> None:
        super().__init__()
        self._job, self._wording = job, wording

    def compose(self) -> ComposeResult:
        """A line for each detail, room for notes."""
        with Vertical(classes="dialog -wide"):
            yield Static(f"Car and customer of job {self._job.number}", classes="dialog-title", markup=False)
            with VerticalScroll(can_focus=False):
                for name in DETAILS:
                    with Horizontal(classes="form-line"):
                        yield Label(label(name))
                        yield Input(str(self._job.get(name) or ""), id=name, compact=True)
                yield Label("notes")
                yield TextArea(str(self._job.get("notes") or ""), id="notes", tab_behavior="focus")
            yield Static(id="outlook", markup=False)
            with Horizontal(classes="dialog-buttons"):
                yield Button("Save (ctrl+s)", id="save", variant="primary")
                yield Button("Leave (esc)", id="leave")

    @on(Input.Changed, "#plate, #vin")
    def show_doubt(self, event: Input.Changed) -> None:
        """Say what is unusual about a plate or a VIN; it may stand all the same."""
        doubt = remark(str(event.input.id), identifier(event.value), "", self._wording.region.country)
        self.query_one("#outlook", Static).update(f"? {doubt}" if doubt else "")

    def typed(self) -> dict[str, str]:
        """What stands in the form."""
        details = {name: self.query_one(f"#{name}", Input).value.strip() for name in DETAILS}
        for name in ("plate", "vin"):
            details[name] = identifier(details[name])
        return {**details, "notes": self.query_one("#notes", TextArea).text.strip()}

    @on(Button.Pressed, "#save")
    def action_save(self) -> None:
        """Give what was typed."""
        self.dismiss(self.typed())

    @on(Button.Pressed, "#leave")
    def action_leave(self) -> None:
        """Change nothing."""
        self.dismiss(None)
