"""The parts a grammar rule is made of, as read from a JSGF file."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Word:
    """One word to be said."""

    text: str


@dataclass(frozen=True)
class Ref:
    """A reference to a rule, `<name>`."""

    rule: str
    """Qualified name (`grammar.rule`) once the grammar is loaded, else as written."""
    line: int
    column: int


@dataclass(frozen=True)
class Sequence:
    """Parts said one after the other; empty for `<NULL>`."""

    parts: tuple[Expansion, ...]


@dataclass(frozen=True)
class Branch:
    """One alternative with its relative weight."""

    weight: float
    part: Expansion
    label: str
    """file:line: text, by which a test can name it."""


@dataclass(frozen=True)
class Choice:
    """Exactly one of several branches."""

    branches: tuple[Branch, ...]


@dataclass(frozen=True)
class Repeat:
    """A part said at least `least` times; `most` is 1 for an optional part, None for no bound."""

    part: Expansion
    least: int
    most: int | None


@dataclass(frozen=True)
class Tagged:
    """A part with tags, in the order written."""

    part: Expansion
    tags: tuple[str, ...]


@dataclass(frozen=True)
class Void:
    """`<VOID>`: can never be said."""


Expansion = Word | Ref | Sequence | Choice | Repeat | Tagged | Void
NULL = Sequence(())


def may_be_silent(part: Expansion) -> bool:
    """Whether a part can be left out without a word."""
    match part:
        case Sequence(parts):
            return all(may_be_silent(item) for item in parts)
        case Choice(branches):
            return any(may_be_silent(branch.part) for branch in branches)
        case Repeat(inner, least):
            return not least or may_be_silent(inner)
        case Tagged(inner):
            return may_be_silent(inner)
        case _:
            return False


@dataclass(frozen=True)
class Rule:
    """A named rule with the doc comment above it."""

    name: str
    public: bool
    part: Expansion
    doc: str
    file: str
    line: int
