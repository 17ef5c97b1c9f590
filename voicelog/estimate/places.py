"""Panels of the car as places: what tells one from another, and their names for people."""

from __future__ import annotations

from collections.abc import Sequence

from voicelog.estimate.lines import Place
from voicelog.meaning.phrases import name_of
from voicelog.meaning.region import Region
from voicelog.vocabulary import PANELS


def normal(place: Sequence[str | None]) -> Place:
    """A place without what does not tell panels apart: "front bonnet" is the bonnet."""
    name, end, side = place
    if name is None:
        return (None, None, None)
    panel = PANELS.get(name)
    if panel is None:
        return (name, end, side)
    return (name, end if panel.ends else None, side if panel.sides else None)


def complete(place: Place) -> bool:
    """Whether everything was said that tells this panel from others of its name."""
    panel = PANELS.get(place[0] or "")
    return panel is None or (
        (not panel.ends or place[1] is not None) and (not panel.sides or place[2] is not None)
    )


def could_be(place: Place, other: Place) -> bool:
    """Whether a place said in part may be `other`."""
    return place[0] == other[0] and place[1] in (None, other[1]) and place[2] in (None, other[2])


def place_text(place: Place, region: Region) -> str:
    """For people: "rear right door", "hood", "panel not said"."""
    panel, end, side = place
    if panel is None:
        return "panel not said"
    return " ".join(name_of(part, region) for part in (end, side, panel) if part)
