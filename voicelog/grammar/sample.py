"""Random sentences of a network, and sentences that together cover all of it."""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from voicelog.grammar.errors import GrammarError
from voicelog.grammar.match import Parse, Tag, read_marks
from voicelog.grammar.network import Arc, Mark, WordNetwork
from voicelog.grammar.once import NOTHING, Held, may_end


@dataclass(frozen=True)
class Sample:
    """A sentence with the parse of the way it was made."""

    words: tuple[str, ...]
    parse: Parse

    @property
    def tags(self) -> tuple[Tag, ...]:
        """Tags of its way, in the order of speech."""
        return self.parse.tags()


def _distances(network: WordNetwork) -> list[float]:
    """Least number of arcs from each state to the end."""
    found = network.memo.get("distances")
    if isinstance(found, list):
        return found
    back: list[list[int]] = [[] for _ in network.arcs]
    for state, arcs in enumerate(network.arcs):
        for arc in arcs:
            back[arc.to].append(state)
    away = [math.inf] * len(network.arcs)
    away[network.end] = 0
    waiting = deque([network.end])
    while waiting:
        state = waiting.popleft()
        for before in back[state]:
            if away[before] == math.inf:
                away[before] = away[state] + 1
                waiting.append(before)
    network.memo["distances"] = away
    return away


def _made(arcs: list[Arc]) -> Sample:
    words: list[str] = []
    marks: list[list[Mark]] = [[]]
    logprob = 0.0
    for arc in arcs:
        logprob += arc.logprob
        if arc.mark is not None:
            marks[-1].append(arc.mark)
        if arc.word is not None:
            words.append(arc.word)
            marks.append([])
    return Sample(tuple(words), read_marks([tuple(group) for group in marks], logprob))


_Order = Callable[[list[Arc]], list[Arc]]
"""The ways from a state in the order in which they are tried."""


def _walk(
    network: WordNetwork, at: int, held: Held, order: _Order, longest: int, away: list[float]
) -> list[Arc] | None:
    """A way to the end that says nothing twice that can be said once; None if there is none."""
    arcs: list[Arc] = []
    stack: list[tuple[int, Held, Iterator[Arc], int]] = []
    passed: set[tuple[int, Held, int]] = set()

    def enter(state: int, held: Held) -> None:
        said = sum(arc.word is not None for arc in arcs)
        passed.add((state, held, said))
        ways = network.arcs[state]
        # A sentence that has grown long takes the shortest way out.
        ways = sorted(ways, key=lambda way: away[way.to]) if said >= longest else order(ways)
        stack.append((state, held, iter(ways), said))

    enter(at, held)
    while stack:
        state, held, rest, said = stack[-1]
        if state == network.end and may_end(held):
            return arcs
        for arc in rest:
            following = _after(network, held, arc)
            # Going round without a word says nothing.
            if following is not None and (arc.to, following, said + (arc.word is not None)) not in passed:
                arcs.append(arc)
                enter(arc.to, following)
                break
        else:
            stack.pop()
            if arcs:
                arcs.pop()
    return None


def _after(network: WordNetwork, held: Held, arc: Arc) -> Held | None:
    if arc.mark is not None and arc.mark.kind == "limit":
        return network.limits.passed(held, arc.mark.text)
    return held


def sample(network: WordNetwork, rng: random.Random, longest: int, uniform: bool) -> Sample:
    """See `WordNetwork.sample`."""
    away = _distances(network)
    if away[network.start] == math.inf:
        raise GrammarError("no sentence can be said", todo="look for <VOID> and weights of zero")

    def order(ways: list[Arc]) -> list[Arc]:
        if len(ways) < 2:
            return ways
        # Drawing without putting back: the greatest of r ** (1 / weight) first (Efraimidis, Spirakis 2006).
        weight = {id(way): 1.0 if uniform else math.exp(way.logprob) for way in ways}
        return sorted(ways, key=lambda way: rng.random() ** (1 / weight[id(way)]), reverse=True)

    made = _walk(network, network.start, NOTHING, order, longest, away)
    if made is None:
        raise GrammarError("no sentence can be said", todo="look for what has to be said twice and cannot")
    return _made(made)


def cover(network: WordNetwork) -> list[Sample]:
    """See `WordNetwork.cover`: the shortest sentence through each arc that no earlier one took."""
    away = _distances(network)
    come = _ways_in(network)
    taken: set[int] = set()
    found: list[Sample] = []
    for state, arcs in enumerate(network.arcs):
        for arc in arcs:
            if id(arc) in taken or state not in come:
                continue
            before, held = come[state]
            following = _after(network, held, arc)
            if following is None:
                continue
            after = _walk(network, arc.to, following, lambda ways: ways, 0, away)
            if after is None:
                continue
            way = [*_arcs_of(before), arc, *after]
            taken.update(id(passed) for passed in way)
            found.append(_made(way))
    return found


_Trail = tuple["_Trail", Arc] | None


def _ways_in(network: WordNetwork) -> dict[int, tuple[_Trail, Held]]:
    """The shortest way from the start to every state, with what is held after it."""
    found: dict[int, tuple[_Trail, Held]] = {network.start: (None, NOTHING)}
    waiting = deque([network.start])
    while waiting:
        state = waiting.popleft()
        trail, held = found[state]
        for arc in network.arcs[state]:
            following = _after(network, held, arc)
            if arc.to not in found and following is not None:
                found[arc.to] = ((trail, arc), following)
                waiting.append(arc.to)
    return found


def _arcs_of(trail: _Trail) -> list[Arc]:
    arcs: list[Arc] = []
    while trail is not None:
        trail, arc = trail
        arcs.append(arc)
    return arcs[::-1]
