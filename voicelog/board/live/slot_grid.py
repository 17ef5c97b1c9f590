"""The slots of a dent in columns; empty ones stay in sight, doubtful ones carry a mark."""

from __future__ import annotations

from rich.text import Text
from textual.reactive import reactive
from textual.widget import Widget

from voicelog.board.words import EMPTY, MARKED, Wording, label
from voicelog.jobs.records import Dent, Job
from voicelog.meaning.place import missing_place
from voicelog.vocabulary import DAMAGE_SLOTS

_ALWAYS = ("material", "shape", "depth", "features", "access", "method")
_IN_LARGE_TYPE = ("panel", "end", "side", "length_mm", "width_mm", "count", "belongs_to")
"""Shown here only where they are missing or in doubt."""
_NARROWEST = 22
_LABEL = 9

Cell = tuple[str, str, bool]
"""Label, value, and whether the value is in doubt."""


def cells(job: Job, dent: Dent, wording: Wording) -> list[Cell]:
    """Slots that the large type does not show, in the order of the papers, then paint readings."""
    found = [_cell(dent, slot, wording) for slot in DAMAGE_SLOTS if _worth_showing(dent, slot)]
    readings = dent.readings[-1:]
    paint = wording.value("paint_um", readings[0].um.value) if readings else EMPTY
    reference = job.references[-1:]
    beside = wording.value("reference_um", reference[0].um.value) if reference else EMPTY
    return [
        *found,
        ("paint", paint, bool(readings and not readings[0].um.confirmed)),
        ("ref", beside, bool(reference and not reference[0].um.confirmed)),
    ]


def _worth_showing(dent: Dent, slot: str) -> bool:
    found = dent.fields.get(slot)
    if found is not None:
        return slot not in _IN_LARGE_TYPE or not found.confirmed
    if slot == "take_off":
        return bool(dent.get("access") == "trim-off")
    return slot in _ALWAYS or slot == "length_mm" or slot in missing_place(dent.place)


def _cell(dent: Dent, slot: str, wording: Wording) -> Cell:
    field = dent.fields.get(slot)
    if field is None:
        return label(slot), EMPTY, False
    if field.confirmed:
        return label(slot), wording.value(slot, field.value), False
    return label(slot), f"{MARKED} {wording.choices(slot, field.choices)}", True


class SlotGrid(Widget):
    """As many columns as the width allows, filled row by row."""

    DEFAULT_CSS = "SlotGrid { height: auto; width: 1fr; }"

    shown: reactive[tuple[Cell, ...]] = reactive((), layout=True)

    def _columns(self, width: int) -> int:
        return max(1, min(4, width // _NARROWEST))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """Rows that the cells take."""
        return -(-len(self.shown) // self._columns(width))

    def render(self) -> Text:
        """The grid."""
        columns = self._columns(self.content_size.width)
        width = self.content_size.width // columns
        text = Text(no_wrap=True, overflow="crop")
        for at, cell in enumerate(self.shown):
            text.append_text(self._drawn(cell, width))
            if at % columns == columns - 1:
                text.append("\n")
        return text

    def _drawn(self, cell: Cell, width: int) -> Text:
        name, value, doubtful = cell
        room = max(1, width - _LABEL - 2)
        short = value if len(value) <= room else value[: room - 1] + "…"
        style = "bold reverse" if doubtful else "" if value == EMPTY else "bold"
        drawn = Text.assemble(
            (name[:_LABEL].ljust(_LABEL + 1), "" if value != EMPTY else "italic"), (short, style)
        )
        drawn.pad_right(width - len(drawn.plain))
        return drawn
