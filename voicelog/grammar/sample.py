"""Random sentences of a network, and sentences that together cover all of it."""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

from voicelog.grammar.errors import GrammarError
from voicelog.grammar.match import Parse, Tag, read_marks
from voicelog.grammar.network import Arc, Mark, Network


@dataclass(frozen=True)
class Sample:
    """A sentence with the parse of the way it was made."""

    words: tuple[str, ...]
    parse: Parse

    @property
    def tags(self) -> tuple[Tag, ...]:
        """Tags of its way, in the order of speech."""
        return self.parse.tags()


def _distances(network: Network) -> list[float]:
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


def _walk(
    network: Network, at: int, pick: Callable[[list[Arc]], Arc], longest: int, away: list[float]
) -> list[Arc]:
    arcs: list[Arc] = []
    said = 0
    passed = {at: 0}
    while at != network.end:
        open_ways = network.arcs[at]
        # A sentence that has grown long takes the shortest way out.
        arc = min(open_ways, key=lambda way: away[way.to]) if said >= longest else pick(open_ways)
        arcs.append(arc)
        at = arc.to
        if arc.word is not None:
            said += 1
            passed.clear()
        if at in passed:
            # Going round without a word says nothing: the round is forgotten.
            arcs = arcs[: passed[at]]
            passed = {state: place for state, place in passed.items() if place <= len(arcs)}
        passed[at] = len(arcs)
    return arcs


def sample(network: Network, rng: random.Random, longest: int, uniform: bool) -> Sample:
    """See `Network.sample`."""
    away = _distances(network)
    if away[network.start] == math.inf:
        raise GrammarError("no sentence can be said", todo="look for <VOID> and weights of zero")

    def pick(ways: list[Arc]) -> Arc:
        return rng.choice(ways) if uniform else rng.choices(ways, [math.exp(way.logprob) for way in ways])[0]

    return _made(_walk(network, network.start, pick, longest, away))


def cover(network: Network) -> list[Sample]:
    """See `Network.cover`: the shortest sentence through each arc that no earlier one took."""
    away = _distances(network)
    come: dict[int, tuple[int, Arc] | None] = {network.start: None}
    waiting = deque([network.start])
    while waiting:
        state = waiting.popleft()
        for arc in network.arcs[state]:
            if arc.to not in come:
                come[arc.to] = (state, arc)
                waiting.append(arc.to)
    taken: set[int] = set()
    found: list[Sample] = []
    for state, arcs in enumerate(network.arcs):
        for arc in arcs:
            if id(arc) in taken:
                continue
            before: list[Arc] = []
            at = state
            while (step := come[at]) is not None:
                at = step[0]
                before.append(step[1])
            after = _walk(network, arc.to, lambda ways: ways[0], 0, away)
            way = [*reversed(before), arc, *after]
            taken.update(id(passed) for passed in way)
            found.append(_made(way))
    return found
