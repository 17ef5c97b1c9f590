"""Words to parses: a walk through the network that never tries the same state twice for a word.

Forward, the walk keeps for every state the ways into it; backward, parses are read off best first,
so that an ambiguous sentence costs what its parses cost and no more.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Hashable, Iterator
from dataclasses import dataclass, field

from voicelog.grammar.network import ANY, Arc, Mark, WordNetwork
from voicelog.grammar.once import NOTHING, Held, may_end

MOST_PATHS = 400
"""Ways through the network that are tried for the parses of one sentence."""
MOST_WAYS = 2000
"""Ways from one state to one word that are kept."""
WORTH = 40.0
"""Where any word can stand, ways into a word that are so much less likely than the best are given up."""
MOST_ENDS = 8
"""So many places are gone on from in any case where the sentence could end."""
MOST_PLACES = 300
"""Where any word can stand, this many places after a word are gone on from."""


@dataclass(frozen=True)
class Tag:
    """A tag with the words it stands on, `start` up to but not with `end`."""

    text: str
    start: int
    end: int


@dataclass(frozen=True)
class Node:
    """A rule as it was said: its word span, its own tags, and the rules within it."""

    rule: str
    start: int
    end: int
    tags: tuple[Tag, ...]
    children: tuple[Node, ...]

    def find(self, rule: str) -> Iterator[Node]:
        """Every node of this rule at or below this one, in order of speech."""
        if self.rule == rule:
            yield self
        for child in self.children:
            yield from child.find(rule)

    def all_tags(self) -> Iterator[Tag]:
        """Tags here and below."""
        yield from self.tags
        for child in self.children:
            yield from child.all_tags()


@dataclass(frozen=True)
class Parse:
    """One way to read a sentence."""

    root: Node
    logprob: float
    alternatives_used: tuple[str, ...]
    """Labels of the alternatives taken."""
    completed: tuple[Tag, ...] = field(repr=False, compare=False)

    def tags(self) -> tuple[Tag, ...]:
        """Every tag in the order of speech: as the words they stand on come to an end, inner before outer."""
        return self.completed


@dataclass(frozen=True)
class Stop:
    """Where a word list leaves the grammar."""

    index: int
    """Index of the first word that cannot stand there; the number of words if more are needed."""
    expected: tuple[str, ...]
    """Words that could have come there, in alphabetical order."""


@dataclass(frozen=True)
class _Way:
    """A way from a state over one word (or to the end) through arcs that say nothing."""

    to: int
    logprob: float
    marks: tuple[Mark, ...]
    limits: tuple[str, ...] = ()
    """Tags on the way that say what can be said once."""


class Walker:
    """Finds the ways from a state to a word, guided by which words can come next from where."""

    def __init__(self, network: WordNetwork, first: list[int] | None = None) -> None:
        self.network = network
        names = sorted(network.vocabulary)
        self.bit = {word: 1 << place for place, word in enumerate([*names, ANY])}
        self.any = self.bit[ANY]
        self.names = names
        self.end_bit = 1 << len(self.bit)
        self.first = self._first_words() if first is None else first
        self.wide = any(bits & self.any for bits in self.first)
        self._ways: dict[tuple[int, str | None], list[_Way]] = {}

    def _first_words(self) -> list[int]:
        """For each state, the words (and, as the highest bit, the end) that can come next."""
        arcs = self.network.arcs
        first = [0] * len(arcs)
        first[self.network.end] = self.end_bit
        silent: list[list[int]] = []
        for state, outgoing in enumerate(arcs):
            following = []
            for to, word, _, _ in outgoing:
                if word is None:
                    following.append(to)
                else:
                    first[state] |= self.bit[word]
            silent.append(following)
        order = _deepest_first(silent)
        changed = True
        while changed:
            # One round settles everything but loops, which take one more each.
            changed = False
            for state in order:
                joined = first[state]
                for to in silent[state]:
                    joined |= first[to]
                if joined != first[state]:
                    first[state] = joined
                    changed = True
        return first

    def ways(self, state: int, word: str | None) -> list[_Way]:
        """Ways from `state` over `word`; for None, ways to the end of the sentence."""
        if word is not None and word not in self.bit:
            word = ANY
        key = (state, word)
        if key not in self._ways:
            self._ways[key] = self._find(state, word)
        return self._ways[key]

    def _find(self, state: int, word: str | None) -> list[_Way]:
        want = self.end_bit if word is None else self.bit[word] | self.any
        found: list[_Way] = []
        if not want & self.first[state]:
            return found
        arcs = self.network.arcs
        if word is None and state == self.network.end:
            found.append(_Way(state, 0.0, ()))
        # Depth first without recursion: a long row of optional words is thousands of arcs deep.
        passed = {state}
        stack: list[tuple[int, float, tuple[Mark, ...], Iterator[Arc]]] = [
            (state, 0.0, (), iter(arcs[state]))
        ]
        while stack and len(found) < MOST_WAYS:
            at, logprob, marks, rest = stack[-1]
            arc = next(rest, None)
            if arc is None:
                stack.pop()
                passed.discard(at)
                continue
            following = marks if arc.mark is None else (*marks, arc.mark)
            likely = logprob + arc.logprob
            if arc.word is not None:
                if arc.word == word or (arc.word == ANY and word is not None):
                    found.append(_way(arc.to, likely, following))
            elif self.first[arc.to] & want and arc.to not in passed:
                if word is None and arc.to == self.network.end:
                    found.append(_way(arc.to, likely, following))
                passed.add(arc.to)
                stack.append((arc.to, likely, following, iter(arcs[arc.to])))
        return found

    def next_words(self, states: set[int]) -> tuple[str, ...]:
        """Words that can come next from any of `states`."""
        bits = 0
        for state in states:
            bits |= self.first[state]
        return tuple(word for word in self.names if bits & self.bit[word])


def _way(to: int, logprob: float, marks: tuple[Mark, ...]) -> _Way:
    return _Way(to, logprob, marks, tuple(mark.text for mark in marks if mark.kind == "limit"))


def _deepest_first(following: list[list[int]]) -> list[int]:
    """States so that, loops aside, each comes after all that follow it."""
    order: list[int] = []
    seen = [False] * len(following)
    for root in range(len(following)):
        if seen[root]:
            continue
        seen[root] = True
        stack = [(root, iter(following[root]))]
        while stack:
            state, rest = stack[-1]
            to = next((to for to in rest if not seen[to]), None)
            if to is None:
                order.append(state)
                stack.pop()
            else:
                seen[to] = True
                stack.append((to, iter(following[to])))
    return order


def walker(network: WordNetwork) -> Walker:
    """The walker of a network, made once."""
    found = network.memo.get("walker")
    if not isinstance(found, Walker):
        found = network.memo["walker"] = Walker(network)
    return found


@dataclass
class _Place:
    """A state reached after some words with what is held there: the best way to it, and every way in."""

    best: float
    into: list[tuple[_At, _Way]] = field(default_factory=list)


_At = tuple[int, Held]
_Column = dict[_At, _Place]


def _forward(network: WordNetwork, words: list[str]) -> list[_Column]:
    guide = walker(network)
    columns: list[_Column] = [{(network.start, NOTHING): _Place(0.0)}]
    steps: list[str | None] = [*words, None]
    for word in steps:
        column: _Column = {}
        for at, place in columns[-1].items():
            for way in guide.ways(at[0], word):
                held = _held(network, at[1], way, word is None)
                if held is None:
                    continue
                score = place.best + way.logprob
                reached = column.setdefault((way.to, held), _Place(score))
                reached.best = max(reached.best, score)
                reached.into.append((at, way))
        columns.append(_worthy(column, guide) if guide.wide else column)
        if not column:
            break
    return columns


def _held(network: WordNetwork, held: Held, way: _Way, ends: bool) -> Held | None:
    """What is held at the end of a way; None where it says again what can be said once."""
    for tag in way.limits:
        following = network.limits.passed(held, tag)
        if following is None:
            return None
        held = following
    if ends:
        return NOTHING if may_end(held) else None
    return held


def _worthy(column: _Column, guide: Walker) -> _Column:
    """The places worth going on from: where any word can stand, there are very many.

    Some of those where the sentence could end stay in any case, or a phrase that is never finished
    would leave nothing to go on from.
    """
    if len(column) <= MOST_ENDS:
        return column
    ordered = heapq.nlargest(MOST_PLACES, column.items(), key=lambda item: item[1].best)
    least = ordered[0][1].best - WORTH
    kept = dict(item for item in ordered if item[1].best >= least)
    ends = (item for item in column.items() if guide.first[item[0][0]] & guide.end_bit)
    kept.update(heapq.nlargest(MOST_ENDS, ends, key=lambda item: item[1].best))
    return kept


def match(network: WordNetwork, words: list[str], limit: int) -> list[Parse]:
    """See `WordNetwork.match`."""
    columns = _forward(network, words)
    if len(columns) != len(words) + 2 or (network.end, NOTHING) not in columns[-1]:
        return []
    found: dict[Hashable, Parse] = {}
    best = columns[-1][network.end, NOTHING].best
    for logprob, marks in itertools.islice(_paths(columns, (network.end, NOTHING)), MOST_PATHS):
        if not network.labels:
            if logprob < best - WORTH:
                break
            # Small words can be cut in many ways: what has the same tags on the same words is one reading.
            key: Hashable = tuple(
                (at, mark.tags) for at, row in enumerate(marks) for mark in row if mark.tags
            )
            if key not in found:
                found[key] = read_marks(marks, logprob)
        else:
            parse = read_marks(marks, logprob)
            found.setdefault(parse.root, parse)
        if len(found) >= limit:
            break
    return list(found.values())


_Trail = tuple[tuple[Mark, ...], "_Trail"] | None


def _paths(columns: list[_Column], end: _At) -> Iterator[tuple[float, list[tuple[Mark, ...]]]]:
    """Whole ways, best first, each as its log probability and the marks before every word."""
    count = itertools.count()
    # Of ways that are equally likely, the one nearest to its beginning goes on, or a sentence with very
    # many equal readings would have all of them half-read before the first is found.
    heap: list[tuple[float, int, int, _At, float, _Trail]] = []

    def wait(column: int, at: _At, after: float, trail: _Trail) -> None:
        cost = round(-columns[column][at].best - after, 9)
        heapq.heappush(heap, (cost, column, next(count), at, after, trail))

    wait(len(columns) - 1, end, 0.0, None)
    while heap:
        cost, column, _, at, after, trail = heapq.heappop(heap)
        if column == 0:
            marks = []
            while trail is not None:
                marks.append(trail[0])
                trail = trail[1]
            yield -cost, marks
            continue
        for before, way in columns[column][at].into:
            wait(column - 1, before, after + way.logprob, (way.marks, trail))


class _Open:
    """A rule that was entered and not yet left."""

    def __init__(self, rule: str, start: int) -> None:
        self.rule = rule
        self.start = start
        self.tags: list[Tag] = []
        self.children: list[Node] = []

    def closed(self, end: int) -> Node:
        return Node(self.rule, self.start, end, tuple(self.tags), tuple(self.children))


def read_marks(marks_before: list[tuple[Mark, ...]], logprob: float) -> Parse:
    """Read the marks of one way as a tree."""
    stack = [_Open("", 0)]
    opened: list[int] = []
    used: list[str] = []
    completed: list[Tag] = []
    for index, marks in enumerate(marks_before):
        for mark in marks:
            if mark.kind == "enter":
                stack.append(_Open(mark.text, index))
            elif mark.kind == "exit":
                _leave(stack, mark.text, index)
            elif mark.kind == "open":
                opened.append(index)
            elif mark.kind == "tag":
                start = index - mark.words if mark.words else opened.pop()
                tags = [Tag(text, start, index) for text in mark.tags]
                stack[-1].tags += tags
                completed += tags
            elif mark.kind == "branch":
                used.append(mark.text)
    return Parse(stack[0].children[0], logprob, tuple(used), tuple(completed))


def _leave(stack: list[_Open], rule: str, index: int) -> None:
    """Close rules up to `rule`; a rule that loops through another leaves that one open."""
    while True:
        node = stack.pop()
        stack[-1].children.append(node.closed(index))
        if node.rule == rule:
            return


def stop(network: WordNetwork, words: list[str]) -> Stop | None:
    """See `WordNetwork.stop`."""
    columns = _forward(network, words)
    if len(columns) == len(words) + 2 and columns[-1]:
        return None
    reached = len(columns) - 2
    index = min(reached, len(words))
    return Stop(index, walker(network).next_words({state for state, _ in columns[index]}))
