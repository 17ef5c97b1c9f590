"""What is known of a dent as terms, so that rules can be data: "material=aluminium", "step=warm".

A rule's term names a slot and one or more values: "panel=wing|quarter".
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from voicelog.jobs.paint import Thresholds, assess, probe_for, references_of
from voicelog.jobs.records import Dent, Job, Step
from voicelog.meaning.place import complete, normal

Facts = frozenset[str]
PLACE = ("panel", "end", "side")


def holds(term: str, facts: Facts) -> bool:
    """Whether a term is true: one of its values is known of its slot."""
    slot, _, values = term.partition("=")
    return any(f"{slot}={value}" in facts for value in values.split("|"))


def all_hold(terms: Iterable[str], facts: Facts) -> bool:
    """Whether every term is true."""
    return all(holds(term, facts) for term in terms)


def of_steps(steps: Iterable[Step]) -> Facts:
    """Steps with their details."""
    found: set[str] = set()
    for step in steps:
        found.add(f"step={step.step}")
        found.update(f"{slot}={item}" for slot, value in step.details.items() for item in _items(value))
    return frozenset(found)


def of_dent(dent: Dent, job: Job, thresholds: Thresholds | None = None) -> Facts:
    """All that is known of a dent.

    Besides slots, steps and probes these are worked out:

    | term | meaning |
    |---|---|
    | paint=RESULT | what its readings suggest; only with thresholds |
    | reading=taken | it has a reading |
    | wrong_probe=PROBE | the probe of a reading does not read on the dent's metal |
    | wrong_reference_probe=PROBE | nor does that of a reference reading on its panel |
    | width=over-length | it is wider than long |
    | count=several | the record stands for more than one dent |
    | other_material=NAME | another dent on its panel, said in full, is of another material |
    | main=none, main=itself | the dent it belongs to is not there, or is itself |
    """
    slots = {f"{name}={item}" for name, found in dent.fields.items() for item in _items(found.value)}
    return frozenset(slots) | of_steps(dent.steps) | frozenset(_worked_out(dent, job, thresholds))


def _worked_out(dent: Dent, job: Job, thresholds: Thresholds | None) -> Iterable[str]:
    found = None if thresholds is None else assess(dent, job, thresholds)
    if found is not None:
        yield f"paint={found.result}"
    if dent.readings:
        yield "reading=taken"
    yield from _probes(dent, job)
    length, width, count = (dent.get(name) for name in ("length_mm", "width_mm", "count"))
    if length is not None and width is not None and Decimal(width) > Decimal(length):
        yield "width=over-length"
    if count is not None and Decimal(count) > 1:
        yield "count=several"
    yield from _other_materials(dent, job)
    yield from _main(dent, job)


def _probes(dent: Dent, job: Job) -> Iterable[str]:
    """Probes of its readings, and of reference readings that name its panel."""
    beside = [reading for reading in references_of(dent, job) if reading.panel is not None]
    material = dent.get("material")
    fit = None if material is None else probe_for(str(material))
    for slot, readings in (("probe", dent.readings), ("reference_probe", beside)):
        for reading in readings:
            if reading.probe is not None:
                yield f"{slot}={reading.probe}"
                if fit not in (None, reading.probe):
                    yield f"wrong_{slot}={reading.probe}"


def _other_materials(dent: Dent, job: Job) -> Iterable[str]:
    """Settled materials of the other dents on its panel; none where either place is not settled."""
    place, own = normal(dent.place), dent.get("material")
    if own is None or place[0] is None or not complete(place) or not _settled(dent, PLACE):
        return
    for other in job.listed():
        there, same = other.get("material"), normal(other.place) == place
        if same and there not in (None, own) and _settled(other, ("material", *PLACE)):
            yield f"other_material={there}"


def _settled(dent: Dent, slots: Iterable[str]) -> bool:
    return all(dent.fields[slot].confirmed for slot in slots if slot in dent.fields)


def _main(dent: Dent, job: Job) -> Iterable[str]:
    named = dent.get("belongs_to")
    if named is None:
        return
    main = job.dents.get(int(named))
    if int(named) == dent.number:
        yield "main=itself"
    elif main is None or main.removed:
        yield "main=none"


def _items(value: object) -> Iterable[object]:
    return value if isinstance(value, tuple) else (value,)
