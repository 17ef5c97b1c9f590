"""Bars of block characters: small plots that work in any terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from voicelog.board.widgets.level_meter import bar


@dataclass(frozen=True)
class Bar:
    """One bar: what it is, how long, and the figure printed beside it."""

    label: str
    value: float
    """0 or more, in the unit of its chart."""
    figure: str


def chart(title: str, bars: Sequence[Bar], width: int) -> str:
    """A titled bar chart in `width` columns; the longest bar takes what labels and figures leave."""
    if not bars:
        return f"{title}\n  nothing yet"
    labels = max(len(item.label) for item in bars)
    figures = max(len(item.figure) for item in bars)
    room = max(4, width - labels - figures - 4)
    most = max(item.value for item in bars) or 1.0
    lines = [
        f"  {item.label.ljust(labels)} {bar(item.value / most, room)} {item.figure.rjust(figures)}"
        for item in bars
    ]
    return "\n".join([title, *lines])
