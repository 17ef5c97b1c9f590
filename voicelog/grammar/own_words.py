"""Words of a user's own: one more alternative wherever a rule holds the value that they stand for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from voicelog.grammar.once import is_limit
from voicelog.grammar.tree import (
    Branch,
    Choice,
    Expansion,
    Repeat,
    Rule,
    Sequence,
    Tagged,
    Word,
    may_be_silent,
)

TOOL = "text=tool"
"""The tag of tools by name."""
SHARE = 0.3
"""Weight of an own word beside what is said otherwise."""


@dataclass(frozen=True)
class OwnWord:
    """A phrase and what it means."""

    phrase: str
    """Words in the spelling of the grammar."""
    beside: str
    """The tag of what it is an alternative to, as in "panel=bonnet"."""
    tags: tuple[str, ...]
    """What it is tagged with itself."""


OwnWords = tuple[OwnWord, ...]


def add_own_words(rules: dict[str, Rule], own: OwnWords) -> dict[str, Rule]:
    """The rules with a user's own words in them."""
    return {name: replace(rule, part=_added(rule.part, own)) for name, rule in rules.items()}


def phrases_of(rules: dict[str, Rule]) -> frozenset[str]:
    """Every row of words that is an alternative of its own: it means something already."""
    return frozenset(phrase for rule in rules.values() for phrase in _phrases(rule.part))


def _added(part: Expansion, own: OwnWords) -> Expansion:
    match part:
        case Choice(branches):
            return Choice(tuple(new for branch in branches for new in _branches(branch, own)))
        case Sequence(parts):
            return Sequence(tuple(_added(item, own) for item in parts))
        case Repeat(inner) | Tagged(inner):
            return replace(part, part=_added(inner, own))
        case _:
            return part


def _branches(branch: Branch, own: OwnWords) -> Iterator[Branch]:
    """A branch, and before it one like it for each own word that stands beside something in it."""
    parts = branch.part.parts if isinstance(branch.part, Sequence) else (branch.part,)
    for place, item in enumerate(parts):
        for word in own:
            if isinstance(item, Tagged) and _is_beside(word, item.tags):
                said = Tagged(Sequence(tuple(map(Word, word.phrase.split()))), _tags(word, item.tags))
                # What must be said before it is a part of the phrase: "double" of "double skin".
                before = filter(may_be_silent, parts[:place])
                part = Sequence((*before, said, *parts[place + 1 :]))
                yield Branch(branch.weight * SHARE, part, f"words.toml: {word.phrase}")
    yield replace(branch, part=_added(branch.part, own))


def _tags(word: OwnWord, tags: tuple[str, ...]) -> tuple[str, ...]:
    return tags if word.tags == (word.beside,) else word.tags


def _is_beside(word: OwnWord, tags: tuple[str, ...]) -> bool:
    return [tag for tag in tags if not is_limit(tag)] == [word.beside]


def _phrases(part: Expansion) -> Iterator[str]:
    match part:
        case Choice(branches):
            for branch in branches:
                yield from _phrases(branch.part)
        case Tagged(inner) | Repeat(inner):
            yield from _phrases(inner)
        case Sequence(parts):
            plain = [item.part if isinstance(item, Tagged) else item for item in parts]
            words = [item.text for item in plain if isinstance(item, Word)]
            if len(words) == len(parts):
                yield " ".join(words)
                return
            for item in parts:
                if not isinstance(item, Word):
                    yield from _phrases(item)
        case Word(text):
            yield text
        case _:
            return
