"""Random jobs and cards for the properties of the estimate."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import product
from typing import Any

from hypothesis import strategies as st

from tests.estimate.making import dent, job
from tests.estimate.plain_price import place_of
from voicelog.jobs.records import Job

CARD = """
currency = "{currency}"
hourly_rate = {rate}
[tax]
name = "VAT"
percent = {tax}
included = {included}
[base]
points = [[10, 7], [25, 12.5], [40, 12.5], [70, 31], [110, 50]]
[adders.panel]
roof = {{ percent = 15 }}
[adders.material]
aluminium = {{ percent = 25 }}
[adders.depth]
deep = {{ percent = 50 }}
[adders.shape]
crease = {{ percent = 40 }}
bowl = {{ percent = -30 }}
sharp = {{ percent = 10, minutes = 4 }}
[adders.features]
edge = {{ percent = 33 }}
brace = {{ minutes = 5 }}
[adders.method]
glue-pull = {{ minutes = 3, setup_minutes = 9 }}
[usual_material]
every_panel = {usual}
[usual_material.by_panel]
roof = ["steel"]
[corrosion_protection]
minutes = {protection}
after = ["limited"]
[paint]
chip_may_stay = {chips}
[width]
over_percent = 60
percent = 20
[several]
second_percent = {second}
further_percent = {further}
cap_minutes = {cap}
[several.cap_minutes_by_panel]
roof = 95
[hail]
sizes_mm = [15, 60]
rows = [[2, 9, 14], [5, 21.5, 31], [12, 22, 33]]
[hail.density_percent]
light = -10
heavy = 35
[take_off]
door-card = 30
bumper = 41
mirror = 7
[charges]
minimum = {minimum}
call_out = 12
max_discount_percent = 15
"""


@st.composite
def cards(draw: st.DrawFn) -> str:
    """The text of a valid card."""
    second = draw(st.sampled_from([0, 1, 60, 100]))
    return CARD.format(
        currency=draw(st.sampled_from(["GBP", "USD", "EUR", "JPY", "KWD"])),
        rate=draw(st.sampled_from(["0.7", "47.5", "61", "99.99", "3700"])),
        tax=draw(st.sampled_from(["0", "6.875", "20", "17.5"])),
        included=draw(st.sampled_from(["true", "false"])),
        second=second,
        further=draw(st.sampled_from([0, second, second / 2])),
        cap=draw(st.sampled_from([20, 60, 10000])),
        minimum=draw(st.sampled_from([0, 25, 400])),
        usual=draw(st.sampled_from(['["steel", "aluminium"]', '["plastic", "steel"]', '["aluminium"]'])),
        protection=draw(st.sampled_from([0, 6])),
        chips=draw(st.sampled_from(["true", "false"])),
    )


VALUES: dict[str, st.SearchStrategy[Any]] = {
    "length_mm": st.integers(5, 120),
    "width_mm": st.integers(5, 120),
    "count": st.integers(1, 9),
    "material": st.sampled_from(["steel", "aluminium", "plastic"]),
    "shape": st.sampled_from(["round", "crease", "bowl", "sharp"]),
    "features": st.sampled_from([("edge",), ("brace",), ("edge", "brace"), ("paint-broken",), ("filler",)]),
    "depth": st.sampled_from(["shallow", "deep"]),
    "access": st.sampled_from(["open", "limited"]),
    "method": st.sampled_from(["push", "glue-pull"]),
    "take_off": st.sampled_from([("door-card",), ("door-card", "mirror"), ("bumper",)]),
    "side": st.sampled_from(["left", "right"]),
    "hail": st.just(True),
    "density": st.sampled_from(["light", "moderate", "heavy"]),
    "oversize": st.just(True),
}
PLACES = [("bonnet", None), ("roof", None), ("door", "front"), ("door", "rear")]


@st.composite
def slots(
    draw: st.DrawFn, open_slots: int = 0, *, unsaid: bool = False, silent: bool = False
) -> dict[str, list[Any]]:
    """A dent's slots, each with the values it may have; at most `open_slots` have several.

    With `unsaid` the end or side of a door may be missing, with `silent` the material.
    """
    panel, end = draw(st.sampled_from([*PLACES, *PLACES[2:] * 3] if unsaid else PLACES))
    made: dict[str, list[Any]] = {"panel": [panel], "length_mm": [draw(VALUES["length_mm"])]}
    made["material"] = [draw(VALUES["material"])]
    if end:
        made.update(end=[end], side=[draw(VALUES["side"])])
        for slot in ("end", "side") if unsaid else ():
            if draw(st.booleans()):
                del made[slot]
    chosen = st.sets(
        st.sampled_from(["width_mm", "count", "shape", "depth", "features", "access", "method", "take_off"])
    )
    for slot in sorted(draw(chosen)):
        made[slot] = [draw(VALUES[slot])]
    if draw(st.booleans()):
        made["count"] = [draw(VALUES["count"])]
        for slot in sorted(draw(st.sets(st.sampled_from(["hail", "hail", "density", "oversize"])))):
            made[slot] = [draw(VALUES[slot])]
    if silent and draw(st.booleans()):
        del made["material"]
    for _ in range(open_slots):
        slot = draw(st.sampled_from([*sorted(made), "panel"]))
        other = {
            "panel": st.sampled_from(["bonnet", "roof", "door"]),
            "end": st.sampled_from(["front", "rear"]),
        }
        value = draw({**VALUES, **other}[slot])
        sides_unsaid = slot == "panel" and "door" in (value, *made["panel"])
        if value not in made[slot] and not sides_unsaid:
            made[slot] = [*made[slot], value]
    return made


def job_of(dents: list[dict[str, list[Any]]], discount: int = 0) -> Job:
    """The job with these dents, numbered from 1; a material that is not there was not said."""
    made = [dent(number, **{"material": None, **values}) for number, values in enumerate(dents, 1)]  # type: ignore[arg-type]
    return job(*made, discount_percent=discount)


def alternatives(
    dents: list[dict[str, list[Any]]], usual: Callable[[str], Sequence[str]] = lambda panel: ("steel",)
) -> list[list[dict[str, Any]]]:
    """Every way the open and unsaid values of a job can turn out, as settled dents.

    A panel has one material: what a dent there says, else any of the usual ones.
    """
    doors = {"end": ["front", "rear"], "side": ["left", "right"]}
    whole = [{**doors, **d} if d["panel"] == ["door"] else d for d in dents]
    each = [[dict(zip(d, values, strict=True)) for values in product(*d.values())] for d in whole]
    found = []
    for combination in product(*each):
        said: dict[Any, set[str]] = {}
        for one in combination:
            said.setdefault(place_of(one), set()).update({one["material"]} if "material" in one else ())
        silent = list({place_of(one) for one in combination if "material" not in one})
        for materials in product(*(sorted(said[place]) or usual(place[0]) for place in silent)):
            of = dict(zip(silent, materials, strict=True))
            found.append([{"material": of.get(place_of(one)), **one} for one in combination])
    return found
