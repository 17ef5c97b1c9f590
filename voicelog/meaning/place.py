"""Where on the car: the one rule about panels, ends and sides.

A place is (panel, end, side), None for what was not said.  Which of them tell one panel of the
car from another is written in `voicelog.vocabulary.PANELS`; everybody who asks, asks here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from voicelog.meaning.note import SlotValue, Trouble
from voicelog.vocabulary import PANELS

Place = tuple[str | None, str | None, str | None]
"""(panel, end, side)"""


def place_of(slots: Mapping[str, SlotValue]) -> Place:
    """The place that slots name."""
    panel, end, side = (
        str(slots[name].value) if name in slots else None for name in ("panel", "end", "side")
    )
    return (panel, end, side)


def normal(place: Sequence[str | None]) -> Place:
    """A place without what does not tell panels apart: "front bonnet" is the bonnet."""
    name, end, side = place
    if name is None:
        return (None, None, None)
    panel = PANELS.get(name)
    if panel is None:
        return (name, end, side)
    return (name, end if panel.ends else None, side if panel.sides else None)


def missing_place(place: Sequence[str | None]) -> tuple[str, ...]:
    """What is still to be said so that the panel is one panel of the car: of `panel`, `end`, `side`."""
    name, end, side = place
    panel = PANELS.get(name or "")
    if panel is None:
        return () if name else ("panel",)
    lacks = {"end": bool(panel.ends) and end is None, "side": panel.sides and side is None}
    return tuple(slot for slot, lacking in lacks.items() if lacking)


def complete(place: Sequence[str | None]) -> bool:
    """Whether neither an end nor a side is left to be said."""
    return missing_place(place) in ((), ("panel",))


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


def may_be_one(one: Sequence[str | None], other: Sequence[str | None]) -> bool:
    """Whether two places as they were said may be the same panel of the car."""
    return both(normal(one), normal(other)) is not None


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


WIDE = frozenset({"bonnet", "roof", "boot-lid", "tailgate", "bumper"})
"""Panels that exist once and reach across the car."""


def settle_panel(slots: dict[str, SlotValue]) -> None:
    """Turn a wing at the rear into the quarter it is ("rear left wing"), in place."""
    panel, end = slots.get("panel"), slots.get("end")
    if panel and end and panel.value == "wing" and end.value == "rear" and panel.confirmed and end.confirmed:
        slots["panel"] = SlotValue("quarter", f"{end.words} {panel.words}".strip())


def place_troubles(slots: Mapping[str, SlotValue]) -> tuple[Trouble, ...]:
    """What of a place contradicts itself: the wrong end, a side where there is none.

    A wide panel that exists once has a left and a right half to say where on it a dent is.
    """
    panel = PANELS.get(str(slots["panel"].value)) if "panel" in slots else None
    if panel is None:
        return ()
    name = panel.name.replace("-", " ")
    troubles = []
    if "side" in slots and not panel.sides and panel.name not in WIDE:
        troubles.append(Trouble("side", f"{name} has no left and right"))
    end = slots.get("end")
    if end is not None and panel.implied_end not in (None, end.value):
        troubles.append(Trouble("end", f"{name} is at the {panel.implied_end}"))
    return tuple(troubles)
