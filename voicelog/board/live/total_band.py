"""The running total: one figure, or a range and what it waits for."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from voicelog.board.widgets.big_text import BigText
from voicelog.board.words import Wording
from voicelog.estimate.estimate import Estimate


def standing(estimate: Estimate | None) -> str:
    """What the figure is worth, in words; nothing to charge is no price of nought."""
    if estimate is None or _is_empty(estimate):
        return "nothing to price yet"
    if estimate.confirmed and not estimate.refusals:
        return "TOTAL, settled"
    return "TOTAL, not settled" if estimate.total.settled else "TOTAL between"


def _is_empty(estimate: Estimate) -> bool:
    return not estimate.total.high and not any(line.amount is not None for line in estimate.lines)


def open_points(estimate: Estimate | None, wording: Wording) -> list[str]:
    """What the total waits for, the costliest doubt first, then dents without a price."""
    if estimate is None:
        return []
    doubts = sorted(estimate.unsettled, key=lambda item: -item.difference)
    points = []
    for item in doubts:
        where = "job" if item.dent is None else f"dent {item.dent}"
        points.append(f"? {where} {wording.choices(item.slot, item.choices)}")
    for line in estimate.refusals:
        points.append(f"✕ {line.text}: {line.reason}")
    return points


class TotalBand(Horizontal):
    """The figure on the left, the open points on the right."""

    def compose(self) -> ComposeResult:
        """Figure and points."""
        yield BigText(id="total-figure")
        with Vertical(id="total-side"):
            yield Static(id="total-standing", markup=False)
            yield Static(id="total-points", markup=False)

    def show(self, estimate: Estimate | None, wording: Wording) -> None:
        """Show another estimate; None where there is nothing to price or no card."""
        figure = self.query_one("#total-figure", BigText)
        text = (
            "–"
            if estimate is None or _is_empty(estimate)
            else wording.range(estimate.total, estimate.currency)
        )
        figure.show(text, text.replace("–", " – "))
        self.query_one("#total-standing", Static).update(standing(estimate))
        points = open_points(estimate, wording)
        more = [f"and {len(points) - 2} more"] if len(points) > 3 else []
        self.query_one("#total-points", Static).update("\n".join(points[: 2 if more else 3] + more))
