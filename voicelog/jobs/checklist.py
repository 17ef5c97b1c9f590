"""What a job needs before it can be called finished, and which of it is missing.

The items are in `checklist.toml`; the checks that are more than "this slot was said" are here.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Literal

from voicelog.jobs.paint import references_of
from voicelog.jobs.records import Dent, Job
from voicelog.jobs.rule_terms import holds, of_dent
from voicelog.meaning.place import Place, missing_place, normal


@dataclass(frozen=True)
class Gap:
    """One thing that is missing."""

    id: str
    """Machine name, with the number of the dent it concerns: "size:2"; of a hailed panel several, with its
    first dent: "material+paint:3"."""
    text: str
    """Short enough to be spoken: "dent 2 size"."""
    dent: int | None = None


@dataclass(frozen=True)
class Item:
    """One thing a finished job has."""

    id: str
    of: Literal["dent", "job"]
    needs: str
    """A slot of the dent, or the name of a check."""
    text: str
    unless: tuple[str, ...] = ()
    """Terms of which one makes it needless."""


@cache
def _data() -> Mapping[str, Any]:
    return tomllib.loads((resources.files("voicelog.jobs") / "checklist.toml").read_text(encoding="utf-8"))


@cache
def items() -> tuple[Item, ...]:
    """Every item of the data file."""
    return tuple(
        Item(item["id"], item["of"], item["needs"], item["text"], tuple(item.get("unless", ())))
        for item in _data()["item"]
    )


def gaps(job: Job) -> tuple[Gap, ...]:
    """Everything that is missing on a job, dent by dent, then of the job as a whole."""
    hailed = _hailed(job)
    found = [gap for dent in job.listed() for gap in _of_dent(dent, job) if normal(dent.place) not in hailed]
    found += [gap for place, dents in hailed.items() if (gap := _of_panel(place, dents, job)) is not None]
    for item in items():
        if item.of == "job":
            missing = JOB_CHECKS[item.needs](job)
            if missing is not None:
                found.append(Gap(item.id, item.text.format(**missing)))
    return tuple(found)


def gap_text(name: str) -> str:
    """A stored gap in words: "size:2" is "dent 2 size"; what is no id of the list stays as it is."""
    plain, _, dent = name.partition(":")
    found = [item.text.partition(": {")[0] for item in items() if item.id in plain.split("+")]
    if not found:
        return name
    text = ", ".join(found)
    return f"dent {dent} {text}" if dent else text


def _of_dent(dent: Dent, job: Job) -> Iterator[Gap]:
    facts = of_dent(dent, job)
    for item in items():
        if item.of != "dent" or any(holds(term, facts) for term in item.unless):
            continue
        check = DENT_CHECKS.get(item.needs)
        missing = dent.get(item.needs) is None if check is None else check(dent, job)
        if missing:
            yield Gap(f"{item.id}:{dent.number}", f"dent {dent.number} {item.text}", dent.number)


OF_PANEL = ("material", "access", "paint")
"""Items that one count of a hailed panel answers for all of them."""


def _hailed(job: Job) -> dict[Place, list[Dent]]:
    """Panels on which hail was counted, with their dents, in the order of the list."""
    places = dict.fromkeys(normal(dent.place) for dent in job.listed() if dent.of_hail)
    return {place: [dent for dent in job.listed() if normal(dent.place) == place] for place in places}


def _of_panel(place: Place, dents: list[Dent], job: Job) -> Gap | None:
    """All that a hailed panel lacks, as one thing, whatever the number of its counts."""
    each = [{gap.id.partition(":")[0] for gap in _of_dent(dent, job)} for dent in dents]
    every, some = set.intersection(*each), set.union(*each)
    asked = [item for item in items() if item.id in (every if item.id in OF_PANEL else some)]
    if not asked:
        return None
    where = " ".join(part for part in (*place[1:], place[0]) if part).replace("-", " ")
    number, texts = dents[0].number, ", ".join(item.text for item in asked)
    return Gap(f"{'+'.join(item.id for item in asked)}:{number}", f"{where} {texts}", number)


def _size(dent: Dent, job: Job) -> bool:
    """What an oversize dent is is for the card to say."""
    return dent.get("length_mm") is None and not dent.get("oversize")


def _side(dent: Dent, job: Job) -> bool:
    return "side" in missing_place(dent.place)


def _end(dent: Dent, job: Job) -> bool:
    return "end" in missing_place(dent.place)


def _reading(dent: Dent, job: Job) -> bool:
    return not dent.readings


def _reference(dent: Dent, job: Job) -> bool:
    return bool(dent.readings) and not references_of(dent, job)


def _a_dent(job: Job) -> dict[str, object] | None:
    return None if any(job.listed()) else {}


def untold(job: Job) -> list[str]:
    """Every risk that was noted, of the job and of its dents, and not told to the customer yet."""
    told = {risk for risk, _ in job.told}
    return [risk for risk in job.every_risk if risk not in told]


def _untold(job: Job) -> dict[str, object] | None:
    """Every risk that was noted has to be told, not only one of them."""
    names = [risk.replace("-", " ") for risk in untold(job)]
    return {"name": ", ".join(names)} if names else None


def _questions(job: Job) -> dict[str, object] | None:
    return {"count": len(job.questions)} if job.questions else None


def _lines(job: Job) -> dict[str, object] | None:
    if not any(job.listed()):
        return None
    needed = int(_data()["directions"])
    seen: set[str] = set()
    for step in [*job.steps, *(step for dent in job.listed() for step in dent.steps)]:
        said = step.details.get("direction")
        if step.step == "check-lines" and said is not None:
            seen.update(said if isinstance(said, tuple) else (str(said),))
    return {} if len(seen) < needed else None


DENT_CHECKS: Mapping[str, Callable[[Dent, Job], bool]] = MappingProxyType(
    {"side": _side, "a-size": _size, "end": _end, "paint-reading": _reading, "paint-reference": _reference}
)
"""Whether a dent lacks something that is more than a slot, by the name the data gives it."""
JOB_CHECKS: Mapping[str, Callable[[Job], dict[str, object] | None]] = MappingProxyType(
    {"a-dent": _a_dent, "risks-told": _untold, "no-open-question": _questions, "lines-checked": _lines}
)
"""What the text of a missing item is filled with, None where it is not missing."""
