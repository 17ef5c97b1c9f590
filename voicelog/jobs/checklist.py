"""What a job needs before it can be called finished, and which of it is missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from voicelog.jobs.records import Dent, Job
from voicelog.vocabulary import PANELS

DIRECTIONS_NEEDED = 2
"""The lines are looked at from at least so many directions before a job is finished."""


@dataclass(frozen=True)
class Gap:
    """One thing that is missing."""

    id: str
    """Machine name with the dent's number: "size:2"."""
    text: str
    """Short enough to be spoken: "dent 2 size"."""
    dent: int | None = None


def gaps(job: Job) -> tuple[Gap, ...]:
    """Everything that is missing on a job, dent by dent, then of the job as a whole."""
    found: list[Gap] = []
    for dent in job.listed():
        found += [
            Gap(f"{name}:{dent.number}", f"dent {dent.number} {text}", dent.number)
            for name, text in _of(dent)
        ]
    dents = list(job.listed())
    if not dents:
        found.append(Gap("dents", "no dent is noted"))
    if any(dent.readings for dent in dents) and not job.references:
        found.append(Gap("reference", "a reference reading"))
    told = {risk for risk, _ in job.told}
    risks = dict.fromkeys([*job.risks, *(risk for dent in dents for risk in dent.risks)])
    untold = [risk for risk in risks if risk not in told]
    if untold:
        found.append(Gap("told", f"customer not told: {untold[0].replace('-', ' ')}"))
    if job.questions:
        found.append(Gap("questions", f"{len(job.questions)} open question{'s' * (len(job.questions) > 1)}"))
    directions = _directions(job)
    if dents and len(directions) < DIRECTIONS_NEEDED:
        found.append(Gap("lines", "lines checked from two directions"))
    return tuple(found)


def _of(dent: Dent) -> Iterator[tuple[str, str]]:
    panel = dent.get("panel")
    if panel is None:
        yield "panel", "panel"
    elif PANELS[panel].sides and dent.get("side") is None:
        yield "side", "side"
    elif PANELS[panel].ends and dent.get("end") is None:
        yield "end", "front or rear"
    for slot, name in (("length_mm", "size"), ("material", "material"), ("access", "access")):
        if dent.get(slot) is None:
            yield name, name
    if not dent.readings:
        yield "paint", "paint reading"


def _directions(job: Job) -> set[str]:
    steps = [*job.steps, *(step for dent in job.dents.values() for step in dent.steps)]
    found: set[str] = set()
    for step in steps:
        said = step.details.get("direction")
        if step.step == "check-lines" and said is not None:
            found.update(said if isinstance(said, tuple) else (str(said),))
    return found
