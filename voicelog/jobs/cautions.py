"""Cautions that are due on a job, from the data in `cautions.toml`.

A caution says what to mind and defers to those who may say how; it never blocks the work and
never claims to make it safe.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from importlib import resources
from typing import Any, Literal

from voicelog.jobs.paint import Thresholds
from voicelog.jobs.records import Job
from voicelog.jobs.rule_terms import Facts, all_hold, holds, of_dent, of_steps


@dataclass(frozen=True)
class Near:
    """Two steps that follow each other soon, whichever comes first."""

    steps: tuple[str, str]
    within: timedelta


@dataclass(frozen=True)
class Caution:
    """One caution as it is shown and spoken."""

    id: str
    """Machine name; one that is given for each dent has the dent's number behind it ("name:2")."""
    text: str
    """Whole text for the screen and the papers, the deferral at its end."""
    spoken: str
    """Said aloud in less than four seconds, a short deferral at its end."""
    source: str
    """Where it comes from, or "common practice, no source"."""
    when: tuple[tuple[str, ...], ...] = ()
    """Groups of terms; one that is true as a whole brings it up."""
    near: Near | None = None
    times: int = 1
    """So many steps of the job must fit."""
    repeat: Literal["job", "dent"] = "job"


@cache
def cautions() -> tuple[Caution, ...]:
    """Every caution of the data file."""
    data = tomllib.loads((resources.files("voicelog.jobs") / "cautions.toml").read_text(encoding="utf-8"))
    return tuple(
        Caution(
            id=item["id"],
            text=f"{item['text']} {data['deferral']}",
            spoken=f"{item['spoken']}; {data['spoken_deferral']}",
            source=item["source"],
            when=tuple(tuple(group) for group in item.get("when", ())),
            near=_near(item["near"]) if "near" in item else None,
            times=item.get("times", 1),
            repeat=item["repeat"],
        )
        for item in data["caution"]
    )


def _near(item: Mapping[str, Any]) -> Near:
    one, other = item["steps"]
    return Near((one, other), timedelta(minutes=item["minutes"]))


def due_cautions(job: Job, thresholds: Thresholds | None = None) -> tuple[Caution, ...]:
    """Cautions whose trigger has occurred on the job and that were not given on it yet.

    Args:
        job: the job.
        thresholds: limits of paint readings in µm; without them readings bring nothing up.
    """
    scene = _Scene.of(job, thresholds)
    due = (found for caution in cautions() for found in _due(caution, scene))
    return tuple(caution for caution in due if caution.id not in job.cautions)


def caution_text(name: str, *, short: bool = False) -> str:
    """The text of a caution by its id or that of its repetition; the id where it is unknown.

    Short is the spoken form, for a screen that is read from afar.
    """
    plain = name.partition(":")[0]
    found = next((caution for caution in cautions() if caution.id == plain), None)
    return name if found is None else found.spoken if short else found.text


@dataclass(frozen=True)
class _Scene:
    """What is known of a job, worked out once for all cautions."""

    places: tuple[tuple[int | None, Facts], ...]
    """By dent; under None the steps said while no dent was open."""
    steps: tuple[tuple[datetime, Facts], ...]

    @classmethod
    def of(cls, job: Job, thresholds: Thresholds | None) -> _Scene:
        listed = list(job.listed())
        places = [(dent.number, of_dent(dent, job, thresholds)) for dent in listed]
        steps = [*job.steps, *(step for dent in listed for step in dent.steps)]
        return cls(
            (*places, (None, of_steps(job.steps))),
            tuple((datetime.fromisoformat(step.at), of_steps([step])) for step in steps),
        )

    def dents(self, caution: Caution) -> Iterator[int | None]:
        """Numbers of the dents that bring a caution up; None for steps of no dent."""
        return (number for number, facts in self.places if _any_group(caution, facts))


def _due(caution: Caution, scene: _Scene) -> Iterator[Caution]:
    if caution.near is not None:
        if _followed(caution.near, scene):
            yield caution
        return
    if caution.times > 1:
        if sum(_any_group(caution, facts) for _, facts in scene.steps) >= caution.times:
            yield caution
        return
    for number in scene.dents(caution):
        if caution.repeat == "job" or number is None:
            yield caution
            return
        yield replace(caution, id=f"{caution.id}:{number}", text=f"Dent {number}. {caution.text}")


def _any_group(caution: Caution, facts: Facts) -> bool:
    return any(all_hold(group, facts) for group in caution.when)


def _followed(near: Near, scene: _Scene) -> bool:
    first, second = ([at for at, facts in scene.steps if holds(term, facts)] for term in near.steps)
    return any(abs(one - other) <= near.within for one in first for other in second)
