"""Contradictions in what was said of a dent, from the data in `consistency.toml`.

Whoever takes a note compares the dent before and after it: what newly contradicts itself is
asked about and kept in doubt, what the technician confirmed once is not asked about again.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cache
from importlib import resources

from voicelog.jobs.records import Dent, Job
from voicelog.jobs.rule_terms import Facts, all_hold, of_dent
from voicelog.meaning.note import Value

Say = Callable[[str, Value], str]
"""A slot and its value as people say it."""


@dataclass(frozen=True)
class Rule:
    """What cannot both be true."""

    id: str
    terms: tuple[str, ...]
    doubts: tuple[str, ...]
    """Slots of which one is asked about, the one just said before the others."""
    says: str
    source: str


@dataclass(frozen=True)
class Contradiction:
    """A rule that what is known of a dent breaks."""

    rule: Rule
    slot: str
    """The slot to ask about."""
    facts: Facts
    """What is known of the dent."""

    def text(self, dent: Dent, say: Say) -> str:
        """Both facts as spoken: "aluminium panel, but a magnetic base"."""
        return re.sub(r"\{(\w+)\}", lambda found: self._known(found[1], dent, say), self.rule.says)

    @property
    def others(self) -> tuple[str, ...]:
        """What the slot may be instead, where the rule tells: it is of the dents beside."""
        return self._values(f"other_{self.slot}")

    def _values(self, slot: str) -> tuple[str, ...]:
        start = f"{slot}="
        values = sorted(fact.removeprefix(start) for fact in self.facts if fact.startswith(start))
        return tuple(value for value in values if value != "*")

    def _known(self, slot: str, dent: Dent, say: Say) -> str:
        value = dent.get(slot)
        if value is not None:
            return say(slot, value)
        return " and ".join(say(slot, value) for value in self._values(slot))


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule of the data file."""
    data = tomllib.loads((resources.files("voicelog.jobs") / "consistency.toml").read_text(encoding="utf-8"))
    return tuple(
        Rule(item["id"], tuple(item["all"]), tuple(item["doubts"]), item["says"], item["source"])
        for item in data["rule"]
    )


def contradictions(
    after: Dent, job: Job, *, before: Dent | None = None, changed: Collection[str] = ()
) -> tuple[Contradiction, ...]:
    """What a note makes contradictory, at most one for each slot.

    Args:
        after: the dent with what the note says.
        job: the job with what the note says.
        before: the dent without it; None where the note opens it.
        changed: slots of the dent that the note says.

    Returns:
        Rules broken now that were not broken before, or whose doubted slot was said anew.
    """
    now = _facts(after, job)
    then: Facts = frozenset() if before is None else _facts(before, job)
    found: dict[str, Contradiction] = {}
    for rule in rules():
        slot = _doubted(rule, after, changed)
        if slot is None or not all_hold(rule.terms, now):
            continue
        if slot in changed or not all_hold(rule.terms, then):
            found.setdefault(slot, Contradiction(rule, slot, now))
    return tuple(found.values())


def _facts(dent: Dent, job: Job) -> Facts:
    known = of_dent(dent, job)
    return known | {f"{fact.partition('=')[0]}=*" for fact in known}


def _doubted(rule: Rule, dent: Dent, changed: Collection[str]) -> str | None:
    known = [slot for slot in rule.doubts if slot in dent.fields or slot in changed]
    return next((slot for slot in known if slot in changed), known[0] if known else None)
