"""Hail by the panel: counts go to the panel said last, and what is said of a panel holds for all of them."""

from __future__ import annotations

from collections.abc import Iterator

from voicelog.actions.change import Change, Context, refused
from voicelog.actions.dents import OTHER_SIDE, next_number, open_dent
from voicelog.actions.slots import PLACE, values_of, write_slots
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.meaning.merge import merge
from voicelog.meaning.note import Slots, SlotValue
from voicelog.meaning.place import Place, complete, normal, place_of
from voicelog.meaning.wording import place_text, read_back

OF_PANEL = ("material", "access", "take_off", "method")
"""Said once, it holds for every count of a hailed panel."""
COUNTED = ("count", "length_mm", "hail", "density", "oversize", "square_mm")
"""What tells one count of a panel from the next."""


def on_panel(job: Job | None, place: Place) -> list[Dent]:
    """The dents that count on a panel of the car."""
    return [] if job is None else [dent for dent in job.listed() if normal(dent.place) == normal(place)]


def take_count(context: Context, slots: Slots, *, another: bool = False) -> Change | None:
    """A count, on the panel named or the one said last; None where it only fills the open dent.

    It takes over what was said of the panel: never a record without a panel, never a made-up dent.
    """
    place = place_of(slots)
    dent = context.dent
    if place[0] is None:
        if dent is None or dent.get("panel") is None:
            return refused("panel: not said", "which panel? say it, then the counts")
        place = dent.place
    there = on_panel(context.job, place)
    open_there = dent is not None and normal(dent.place) == normal(place)
    if dent is not None and open_there and not any(name in dent.fields for name in COUNTED):
        return None
    same = next((one for one in there if _same_count(one, slots)), None)
    if same is not None and not another:
        return refused(
            "the same count as before", f"that is dent {same.number} already; for more of them say more"
        )
    if not there:
        return None
    held = values_of(there[-1])
    of_panel = {name: held[name] for name in (*PLACE, *OF_PANEL) if name in held and name not in slots}
    change = open_dent(context, {**of_panel, **slots})
    change.answer = read_back(
        {name: slot for name, slot in slots.items() if name not in of_panel}, context.region
    )
    return change


def _same_count(dent: Dent, slots: Slots) -> bool:
    names = [*COUNTED, "depth"]
    said = {name: slots[name].value for name in names if name in slots}
    return said == {name: dent.get(name) for name in names if name in dent.fields}


def say_of_panel(context: Context, slots: Slots) -> Change | None:
    """What holds for all of a hailed panel ("bonnet liner off"); None where it is no such note.

    It fills every count there that lacks it; where one holds another value, that is asked about.
    """
    place, said = place_of(slots), {name: slot for name, slot in slots.items() if name in OF_PANEL}
    there = on_panel(context.job, place)
    whole = place[0] is not None and len(said) + len([n for n in PLACE if n in slots]) == len(slots)
    if context.job is None or not said or not whole or not any(dent.of_hail for dent in there):
        return None
    change = context.change(read_back(slots, context.region))
    for dent in there:
        held = values_of(dent)
        merged = merge(held, said).fields
        new = {
            name: merged[name] for name in said if name not in held or merged[name].value != held[name].value
        }
        if new:
            write_slots(context, change, context.job.id, dent, new)
    if change.drafts and context.dent not in there:
        change.add(ev.DentSelected(there[-1].number), context.job.id)  # It is the panel said last now.
    return change if change.drafts else refused("it stands there already", "that stands there already")


def finish_panel(context: Context, place: Place) -> Change:
    """Every dent of a panel is done; the panel of the open dent where none is named."""
    if place[0] is None and context.dent is not None:
        place = context.dent.place
    there = on_panel(context.job, place)
    name = place_text(place, context.region)
    if context.job is None or not there:
        return refused("no dent on that panel", f"nothing is noted on the {name}" if name else "which panel?")
    change = context.change(f"{name} done")
    for dent in there:
        if not dent.get("done"):
            change.add(ev.Noted(dent.number, {"done": SlotValue(True)}), context.job.id)
    return change if change.drafts else refused("the panel is done", f"{name} is done already")


def copy_panel(context: Context) -> Change:
    """All of the panel of the open dent on the other side of the car."""
    job, dent = context.job, context.dent
    side = None if dent is None else OTHER_SIDE.get(str(dent.get("side")))
    if job is None or dent is None or side is None:
        return refused("no other side", "the open dent has no side to copy to the other")
    place = (dent.place[0], dent.place[1], side)
    if on_panel(job, place):
        return refused(
            "the other side has notes", f"there are notes on the {place_text(place, context.region)}"
        )
    change = context.change(f"{place_text(place, context.region)}, the same")
    for number, source in enumerate(on_panel(job, dent.place), next_number(job)):
        change.add(ev.DentOpened(number, copied_from=source.number), job.id)
        change.add(ev.Corrected(number, {"side": SlotValue(side, "same on the other side")}), job.id)
    return change


def panels(job: Job) -> Iterator[tuple[Place, list[Dent]]]:
    """Every panel with a dent, in the order of the list."""
    for place in dict.fromkeys(normal(dent.place) for dent in job.listed()):
        yield place, on_panel(job, place)


def dents_on(dents: list[Dent]) -> int:
    """So many dents; a note without a count is one."""
    return sum(int(dent.get("count") or 1) for dent in dents)


def counted_text(context: Context) -> str:
    """How many dents are noted on the panel of the open dent: "roof 65"."""
    dent = context.dent
    if dent is None or not complete(dent.place) or not any(dent.get(name) for name in COUNTED[2:]):
        return ""
    there = on_panel(context.job, dent.place)
    return f"{place_text(dent.place, context.region)} {dents_on(there)}"
