"""Parts that come off: what tells a left tail light from a right one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from voicelog.meaning.place import Place
from voicelog.vocabulary import PANELS

_PART_TOLD_BY: Final[Mapping[str, tuple[str, ...]]] = {
    "door-card": ("panel", "end", "side"),
    "tail-light": ("side",),
    "headlight": ("side",),
    "liner": ("panel", "side"),
    "head-lining": (),
    "bumper": ("end",),
    "trim": ("panel", "end", "side"),
    "mirror": ("side",),
}
"""What of a dent's place tells parts of one name apart; common practice, no source."""


def part_place(item: str, place: Place) -> tuple[Place, bool]:
    """The place of a part that comes off for a dent at `place`, and whether all of it was said."""
    told_by = _PART_TOLD_BY.get(item, ())
    panel = PANELS.get(place[0] or "")
    end = place[1] or (panel.implied_end if panel else None)
    found = (place[0] if "panel" in told_by else None, end if "end" in told_by else None,
             place[2] if "side" in told_by else None)  # fmt: skip
    if panel is None:
        return found, False
    unsaid = ("end" in told_by and bool(panel.ends) and end is None) or (
        "side" in told_by and panel.sides and place[2] is None
    )
    return found, not unsaid


def completions(place: Place) -> list[Place]:
    """Every panel that a place said in part may be."""
    panel = PANELS.get(place[0] or "")
    if panel is None:
        return [place]
    ends = panel.ends if panel.ends and place[1] is None else (place[1],)
    sides = ("left", "right") if panel.sides and place[2] is None else (place[2],)
    return [(place[0], end, side) for end in ends for side in sides]
