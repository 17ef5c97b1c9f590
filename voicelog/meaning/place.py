"""Panels, ends and sides: what fits together and what is still to be said."""

from __future__ import annotations

from collections.abc import Mapping

from voicelog.meaning.note import SlotValue, Trouble
from voicelog.vocabulary import PANELS


def settle_panel(slots: dict[str, SlotValue]) -> None:
    """Turn a wing at the rear into the quarter it is ("rear left wing"), in place."""
    panel, end = slots.get("panel"), slots.get("end")
    if panel and end and panel.value == "wing" and end.value == "rear" and panel.confirmed and end.confirmed:
        slots["panel"] = SlotValue("quarter", f"{end.words} {panel.words}".strip())


def place_troubles(slots: Mapping[str, SlotValue]) -> tuple[Trouble, ...]:
    """What of a place contradicts itself: a side on a panel that exists once, the wrong end."""
    panel = PANELS.get(str(slots["panel"].value)) if "panel" in slots else None
    if panel is None:
        return ()
    troubles = []
    if "side" in slots and not panel.sides:
        troubles.append(Trouble("side", f"{_name(panel.name)} has no left and right"))
    end = slots.get("end")
    if end is not None and panel.implied_end not in (None, end.value):
        troubles.append(Trouble("end", f"{_name(panel.name)} is at the {panel.implied_end}"))
    return tuple(troubles)


def missing_place(slots: Mapping[str, SlotValue]) -> tuple[str, ...]:
    """Slots still to be said so that the panel is one panel of the car: of `panel`, `end`, `side`."""
    panel = PANELS.get(str(slots["panel"].value)) if "panel" in slots else None
    if panel is None:
        return ("panel",)
    needed = {"end": bool(panel.ends), "side": panel.sides}
    return tuple(name for name, needs in needed.items() if needs and name not in slots)


def _name(panel: str) -> str:
    return panel.replace("-", " ")
