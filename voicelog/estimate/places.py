"""Panels of the car as places: what tells one from another, and their names for people."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from voicelog.estimate.estimate import Place
from voicelog.meaning.region import Region
from voicelog.meaning.wording import name_of
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


def both(one: Place, other: Place) -> Place | None:
    """The place that is as exact as two together; None where they cannot be the same panel."""
    if one[0] is None or one[0] != other[0]:
        return None
    parts = [(mine, theirs) for mine, theirs in zip(one[1:], other[1:], strict=True)]
    if any(mine and theirs and mine != theirs for mine, theirs in parts):
        return None
    end, side = (mine or theirs for mine, theirs in parts)
    return (one[0], end, side)


def closure(places: Iterable[Place]) -> list[Place]:
    """All places and every panel that several of them, said in part, may be together.

    "Right door" and "rear door" may both be the rear right door.
    """
    found = list(dict.fromkeys(places))
    for one in found:  # grows while it is walked, until nothing new comes of any pair
        for other in found[: found.index(one)]:
            joint = both(one, other)
            if joint is not None and joint not in found:
                found.append(joint)
    return found


def most_exact(places: Sequence[Place]) -> list[Place]:
    """Those of the places that none of the others says more exactly."""
    return [p for p in places if not any(other != p and could_be(p, other) for other in places)]


def place_text(place: Place, region: Region) -> str:
    """For people: "rear right door", "hood", "panel not said"."""
    panel, end, side = place
    if panel is None:
        return "panel not said"
    return " ".join(name_of(part, region) for part in (end, side, panel) if part)
