"""The word network: one finite network behind matching, search, sampling and the phrase list.

Rules are written out in place, so the network has states (whole numbers) joined by arcs.  An arc
carries a word, or nothing but marks: where a rule begins and ends, where a tag stands, which
alternative was taken.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from voicelog.grammar.errors import GrammarError, too_deep
from voicelog.grammar.load import Rules
from voicelog.grammar.once import Limits, is_limit
from voicelog.grammar.tree import NULL, Branch, Choice, Expansion, Ref, Repeat, Tagged, Void, Word
from voicelog.grammar.tree import Sequence as SequencePart


class Mark(NamedTuple):
    """What passing an arc means: "enter", "exit", "open", "tag", "branch", or "limit" (see `once`)."""

    kind: str
    text: str = ""
    tags: tuple[str, ...] = ()
    words: int = 0
    """Of a tag: how many words it stands on, 0 for all since its "open"."""


class Arc(NamedTuple):
    """A way from one state to another; `word` is None where nothing is said."""

    to: int
    word: str | None = None
    logprob: float = 0.0
    mark: Mark | None = None


CONTINUE = 0.5
"""Chance of one more round of a repeat, and of taking an optional part, where nothing else is said."""


ANY = "…"
"""In place of a word: any word at all (a rule that says it stands for free words)."""


MOST_STATES = 500_000
"""A network with more is refused: rules that name each other again and again can multiply without end."""


@dataclass(eq=False)
class WordNetwork:
    """States 0 to `len(arcs) - 1`; sentences go from `start` to `end`.  What it can do is in `language`."""

    arcs: list[list[Arc]]
    start: int
    end: int
    labels: tuple[str, ...] = ()
    """Labels of every alternative, as "file:line: text"."""
    limits: Limits = field(default_factory=Limits)
    """What can be said once in a note."""
    memo: dict[str, object] = field(default_factory=dict, repr=False)

    @cached_property
    def vocabulary(self) -> frozenset[str]:
        """Every word of the network."""
        said = (arc.word for arcs in self.arcs for arc in arcs if arc.word is not None)
        return frozenset(said) - {ANY}


def unlabelled(network: WordNetwork) -> WordNetwork:
    """The same network without the marks that say which alternative was taken: half of all marks.

    Of a network without labels, readings of a sentence count as one where all their tags are the same.
    """
    arcs = [
        [arc._replace(mark=None) if arc.mark and arc.mark.kind == "branch" else arc for arc in outgoing]
        for outgoing in network.arcs
    ]
    return WordNetwork(arcs, network.start, network.end, (), network.limits)


class _Row(NamedTuple):
    """Words one after the other and the tags that stand on all of them: most of what is written."""

    words: tuple[str, ...]
    tags: tuple[str, ...] = ()


def _row_of(part: Expansion) -> _Row | None:
    """The part as a row of words, which takes the fewest states; None if it is none."""
    match part:
        case Word(text):
            return _Row((text,))
        case SequencePart((one,)):
            return _row_of(one)
        case SequencePart((Word(), *_) as parts):
            words = tuple(item.text for item in parts if isinstance(item, Word))
            return _Row(words) if len(words) == len(parts) else None
        case Tagged(inner, tags) if not any(map(is_limit, tags)):
            row = _row_of(inner)
            return _Row(row.words, tags) if row is not None and not row.tags else None
        case _:
            return None


class _Builder:
    """Writes rules out into states and arcs."""

    def __init__(self, grammar: Rules) -> None:
        self.grammar = grammar
        self.arcs: list[list[Arc]] = []
        self.labels: dict[str, None] = {}
        self.limits = Limits()
        self._open: dict[str, tuple[int, int]] = {}
        self.cut = False
        """Whether something can never be said."""

    def state(self) -> int:
        if len(self.arcs) >= MOST_STATES:
            raise GrammarError(
                f"the rules written out have more than {MOST_STATES:,} states",
                where=str(self.grammar.files[0]),
                todo="let fewer rules be named again and again",
            )
        self.arcs.append([])
        return len(self.arcs) - 1

    def arc(
        self, at: int, to: int, word: str | None = None, chance: float = 1.0, mark: Mark | None = None
    ) -> None:
        if chance > 0:
            self.arcs[at].append(Arc(to, word, math.log(chance) if chance != 1 else 0.0, mark))
        else:
            self.cut = True

    def add(self, part: Expansion, at: int, to: int, tail: frozenset[str]) -> None:
        """Write `part` between two states; `tail` holds the rules that end where it ends."""
        row = _row_of(part)
        if row is not None:
            self._row(row, at, to)
            return
        match part:
            case Void():
                self.cut = True
            case Ref():
                self._rule(part, at, to, tail)
            case SequencePart(parts):
                self._sequence(parts, at, to, tail)
            case Choice(branches):
                self._choice(branches, at, to, tail)
            case Repeat():
                self._repeat(part, at, to, tail)
            case Tagged(inner, tags):
                at = self._limited(at, [tag for tag in tags if is_limit(tag)])
                first, last = self.state(), self.state()
                self.arc(at, first, mark=Mark("open"))
                self.add(inner, first, last, frozenset())
                self.arc(last, to, mark=Mark("tag", tags=tuple(tag for tag in tags if not is_limit(tag))))

    def _row(self, row: _Row, at: int, to: int, chance: float = 1.0, mark: Mark | None = None) -> None:
        for text in row.words[: None if row.tags else -1]:
            following = self.state()
            self.arc(at, following, text, chance, mark)
            at, chance, mark = following, 1.0, None
        if row.tags:
            self.arc(at, to, mark=Mark("tag", tags=row.tags, words=len(row.words)))
        else:
            self.arc(at, to, row.words[-1], chance, mark)

    def _limited(self, at: int, tags: list[str]) -> int:
        """The state after the tags that are for the network itself: they count before what they stand on."""
        for tag in tags:
            self.limits.add(tag)
            after = self.state()
            self.arc(at, after, mark=Mark("limit", tag))
            at = after
        return at

    def _sequence(self, parts: tuple[Expansion, ...], at: int, to: int, tail: frozenset[str]) -> None:
        parts = tuple(part for part in parts if part != NULL)
        if not parts:
            self.arc(at, to)
        for place, item in enumerate(parts):
            last = place == len(parts) - 1
            following = to if last else self.state()
            self.add(item, at, following, tail if last else frozenset())
            at = following

    def _choice(self, branches: tuple[Branch, ...], at: int, to: int, tail: frozenset[str]) -> None:
        total = sum(branch.weight for branch in branches)
        for branch in branches:
            self.labels.setdefault(branch.label)
            chance = branch.weight / total if total > 0 else 0.0
            mark = Mark("branch", branch.label)
            row = _row_of(branch.part)
            if row is not None:
                self._row(row, at, to, chance, mark)
                continue
            first = self.state()
            self.arc(at, first, chance=chance, mark=mark)
            self.add(branch.part, first, to, tail)

    def _repeat(self, part: Repeat, at: int, to: int, tail: frozenset[str]) -> None:
        first, last = self.state(), self.state()
        self.arc(at, first, chance=1.0 if part.least else CONTINUE)
        if not part.least:
            self.arc(at, to, chance=1 - CONTINUE)
        self.add(part.part, first, last, tail if part.most else frozenset())
        self.arc(last, to, chance=1.0 if part.most else 1 - CONTINUE)
        if part.most is None:
            self.arc(last, first, chance=CONTINUE)

    def _rule(self, ref: Ref, at: int, to: int, tail: frozenset[str]) -> None:
        name = ref.rule
        rule = self.grammar.rules[name]
        if name in self._open:
            if name not in tail:
                raise GrammarError(
                    f"<{name}> refers to itself other than at its end, which no word network can hold",
                    where=f"{rule.file}:{ref.line}:{ref.column}",
                    todo="write the repeat with * or +",
                )
            self.arc(at, self._open[name][0])
            return
        first, last = self.state(), self.state()
        short = name.rpartition(".")[2]
        self.arc(at, first, mark=Mark("enter", short))
        self._open[name] = (first, last)
        self.add(rule.part, first, last, tail | {name})
        del self._open[name]
        self.arc(last, to, mark=Mark("exit", short))


def build_network(grammar: Rules, rules: Iterable[str]) -> WordNetwork:
    """Write rules (qualified names) out as alternatives of one network."""
    builder = _Builder(grammar)
    start, end = builder.state(), builder.state()
    names = tuple(rules)
    for name in names:
        middle = builder.state()
        builder.arc(start, middle, chance=1 / len(names))
        try:
            builder.add(Ref(name, grammar.rules[name].line, 1), middle, end, frozenset())
        except RecursionError:
            raise too_deep(grammar.rules[name].file) from None
    arcs, labels = builder.arcs, tuple(builder.labels)
    if builder.cut:
        arcs = _living(arcs, start, end)
        marks = [arc.mark for outgoing in arcs for arc in outgoing if arc.mark]
        used = {mark.text for mark in marks if mark.kind == "branch"}
        labels = tuple(label for label in labels if label in used)
    return WordNetwork(arcs, start, end, labels, builder.limits)


def _living(arcs: list[list[Arc]], start: int, end: int) -> list[list[Arc]]:
    """Only the arcs on some way from start to end: <VOID> and weights of zero cut others off."""
    back: list[list[int]] = [[] for _ in arcs]
    for state, outgoing in enumerate(arcs):
        for arc in outgoing:
            back[arc.to].append(state)
    reached = _spread(start, lambda state: (arc.to for arc in arcs[state]))
    ending = _spread(end, lambda state: back[state])
    return [
        [arc for arc in outgoing if arc.to in ending] if state in reached else []
        for state, outgoing in enumerate(arcs)
    ]


def _spread(start: int, following: Callable[[int], Iterable[int]]) -> set[int]:
    """Every state reached from one."""
    found = {start}
    waiting = [start]
    while waiting:
        for state in following(waiting.pop()):
            if state not in found:
                found.add(state)
                waiting.append(state)
    return found
