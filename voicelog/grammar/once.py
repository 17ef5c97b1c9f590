"""What a way through the network may still say: a slot once in a note, a correction of that slot only.

JSGF has no operator for "each of these at most once, in any order", and writing the orders out
would multiply the network.  So the loop stays in the network and the rest goes along with the way
through it, as a few bits.  Three tags of a grammar are for the network itself:

`{once=panel/place}`  before a part: that part (`panel`) can be passed once in a note.
`{mend}`              a self-correction ("no, sorry"): the next `{once=…}` must be one that was passed
                      last, or one of the same family (`place`), which can then be said anew.
`{due=panel,length}`  the next `{once=…}` must be one of these.
`{fresh}`             a new note begins: everything can be said again.

Matching, sampling and every search that can carry the bits honour them; one that cannot (a
finite-state search) knows a wider language, and what it hears is checked by matching.
"""

from __future__ import annotations

from dataclasses import dataclass, field

Held = tuple[int, int, int]
"""Parts passed, parts of which one has to come next, and the part passed last, as bits."""
NOTHING: Held = (0, 0, 0)
TAGS = ("once", "mend", "due", "fresh")


def is_limit(tag: str) -> bool:
    """Whether a tag is for the network itself."""
    return tag.partition("=")[0].strip() in TAGS


@dataclass
class Limits:
    """The parts of one network that can be passed once, each with its bit."""

    bits: dict[str, int] = field(default_factory=dict)
    families: dict[str, int] = field(default_factory=dict)
    """By name of a family, the bits of its parts."""

    def add(self, tag: str) -> None:
        """Take down a part named by a tag."""
        if tag.partition("=")[0].strip() == "once":
            name, family = _names(tag)
            bit = self.bits.setdefault(name, 1 << len(self.bits))
            self.families[family] = self.families.get(family, 0) | bit
        for name in _due(tag):
            self.bits.setdefault(name, 1 << len(self.bits))

    def passed(self, held: Held, tag: str) -> Held | None:
        """What is held after a tag; None where the way must not go on."""
        used, due, last = held
        kind = tag.partition("=")[0].strip()
        if kind == "fresh":
            return None if due else NOTHING
        if kind == "mend":
            return (used & ~last, last, last) if last and not due else None
        if kind == "due":
            return None if due else (used, sum(self.bits[name] for name in _due(tag)), last)
        name, family = _names(tag)
        bit = self.bits[name]
        if used & bit or (due and not due & bit):
            return None
        return used | bit, 0, self.families[family]


def may_end(held: Held) -> bool:
    """Whether a sentence may end: no correction is left without its value."""
    return not held[1]


def _due(tag: str) -> list[str]:
    name, _, parts = tag.partition("=")
    return parts.strip().split(",") if name.strip() == "due" else []


def _names(tag: str) -> tuple[str, str]:
    """The part that a `{once=…}` names, and its family: the part itself where none is named."""
    name, _, family = tag.partition("=")[2].strip().partition("/")
    return name, family or name
