"""Short ways to make jobs for the tests of the estimate."""

from __future__ import annotations

from typing import Any

from voicelog.jobs.records import Dent, Field, Job, Reading
from voicelog.meaning.note import SlotValue


def field(value: Any, *alternatives: Any) -> Field:
    """A field with its value in force and what else it may be."""
    return Field(SlotValue(value, alternatives=alternatives))


def dent(number: int, panel: str | None = "bonnet", length_mm: Any = 20, **slots: Any) -> Dent:
    """A steel dent; a slot given as a list is in doubt between its values, None was not said."""
    made = Dent(number)
    for name, value in {"panel": panel, "length_mm": length_mm, "material": "steel", **slots}.items():
        if value is not None:
            made.fields[name] = field(*value) if isinstance(value, list) else field(value)
    return made


def reading(place: Any, *um: int, **where: str) -> Reading:
    """One paint reading in micrometres, in doubt where several are given."""
    return Reading(place, field(*um), None, where.get("panel"), where.get("end"), where.get("side"), "", None)


def job(*dents: Dent, **details: Any) -> Job:
    """A job with these dents."""
    made = Job("job-1", 1, "2025-05-06T09:00:00+01:00", **details)
    for one in dents:
        made.dents[one.number] = one
        made.order.append(one.number)
    return made
