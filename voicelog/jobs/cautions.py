"""Cautions that are due on a job, each once, from the data in `cautions.toml`."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from voicelog.jobs.records import Job


@dataclass(frozen=True)
class Caution:
    """One caution as it is shown and spoken."""

    id: str
    text: str
    """Whole text for the screen and the papers, the deferral at its end."""
    spoken: str
    source: str
    when_any: tuple[str, ...] = ()
    when_all: tuple[str, ...] = ()


@cache
def cautions() -> tuple[Caution, ...]:
    """Every caution of the data file."""
    data = tomllib.loads((resources.files("voicelog.jobs") / "cautions.toml").read_text(encoding="utf-8"))
    return tuple(
        Caution(
            item["id"],
            f"{item['text']} {data['deferral']}",
            item["spoken"],
            item["source"],
            tuple(item.get("when_any", ())),
            tuple(item.get("when_all", ())),
        )
        for item in data["caution"]
    )


def due_cautions(job: Job) -> tuple[Caution, ...]:
    """Cautions whose trigger has occurred on the job and that were not given on it yet."""
    facts = _facts(job)
    return tuple(
        caution
        for caution in cautions()
        if caution.id not in job.cautions
        and (any(_holds(term, facts) for term in caution.when_any) or _all_hold(caution.when_all, facts))
    )


def _all_hold(terms: tuple[str, ...], facts: set[str]) -> bool:
    return bool(terms) and all(_holds(term, facts) for term in terms)


def _holds(term: str, facts: set[str]) -> bool:
    slot, _, values = term.partition("=")
    return any(f"{slot}={value}" in facts for value in values.split("|"))


def _facts(job: Job) -> set[str]:
    """Everything said on the job as "slot=value"."""
    found: set[str] = set()
    for dent in job.listed():
        for slot, value in dent.values().items():
            for item in value if isinstance(value, list) else [value]:
                found.add(f"{slot}={item}")
    for step in [*job.steps, *(step for dent in job.listed() for step in dent.steps)]:
        found.add(f"step={step.step}")
        found.update(f"{slot}={value}" for slot, value in step.details.items())
    return found
