"""The network without its marks and with few arcs: what a recogniser searches.

States that can begin the same words are joined (subset construction), except across *hubs*:
states such as the top of an any-order loop, which many states lead to and which can begin many words.
A hub stays one state that others reach without a word, because copying its words into every state
would make the search many times larger.  The language stays exact.  The chances follow the
network's weights but are averaged where joined states differ in them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from voicelog.grammar.errors import GrammarError
from voicelog.grammar.match import walker
from voicelog.grammar.network import ANY, Arc, WordNetwork

HUB_WORDS = 12
"""A hub can begin at least this many words."""
HUB_WAYS = 3
"""At least this many arcs lead to a hub."""
LOST = 1e-9
"""A sum of chances this near to 1 is 1 but for rounding."""


@dataclass(frozen=True)
class Automaton:
    """States 0 to `len(arcs) - 1`, 0 is the start; `arcs[state][(word, to)]` is a chance.

    The word "" stands for a way that says nothing, "…" for any word (left out of FSG texts, whose
    search knows its own words only).  An end can be reached from every state.
    """

    arcs: list[dict[tuple[str, int], float]]
    final: dict[int, float]
    """Chance to end in a state."""
    tags: dict[tuple[int, int], str] = field(default_factory=dict)
    """By state and the state after it: the tag of a way that says nothing, for `Limits.passed`.

    A search that carries along what it returns keeps the language exact; one that does not
    (Sphinx FSG has no such thing) knows a wider one.
    """

    def fsg(self, name: str) -> str:
        """Sphinx FSG text: one start state, one final state, chances as probabilities."""
        if not self.final:
            raise GrammarError("no sentence can be said", todo="look for <VOID> and weights of zero")
        last = len(self.arcs)
        lines = [f"FSG_BEGIN {name}", f"NUM_STATES {last + 1}", "START_STATE 0", f"FINAL_STATE {last}"]
        for state, arcs in enumerate(self.arcs):
            lines += [_transition(state, to, p, word) for (word, to), p in arcs.items() if word != ANY]
        lines += [_transition(state, last, chance) for state, chance in self.final.items()]
        return "\n".join([*lines, "FSG_END", ""])


def _transition(state: int, to: int, chance: float, word: str = "") -> str:
    return f"TRANSITION {state} {to} {max(chance, 1e-9):.6g} {word}".rstrip()


def reduce(network: WordNetwork) -> Automaton:
    """Join the states of a network that search need not tell apart."""
    subsets = _Subsets(network)
    return _told_apart(_merged(Automaton(subsets.arcs, subsets.final), subsets.count))


def _hubs(network: WordNetwork) -> frozenset[int]:
    guide = walker(network)
    ways = [0] * len(network.arcs)
    for arcs in network.arcs:
        for arc in arcs:
            if arc.word is None:
                ways[arc.to] += 1
    return frozenset(
        state
        for state, bits in enumerate(guide.first)
        if ways[state] >= HUB_WAYS and (bits & ~guide.end_bit).bit_count() >= HUB_WORDS
    )


def _symbol(arc: Arc) -> str | None:
    """What tells an arc from others: its word, or the tag in braces that limits what can be said after it."""
    if arc.mark is not None and arc.mark.kind == "limit":
        return f"{{{arc.mark.text}}}"
    return arc.word


def _told_apart(found: Automaton) -> Automaton:
    """The same with the tags taken out of the words: an arc that carries one says nothing."""
    tags: dict[tuple[int, int], str] = {}
    arcs: list[dict[tuple[str, int], float]] = []
    for state, outgoing in enumerate(found.arcs):
        out: dict[tuple[str, int], float] = {}
        for (word, to), chance in outgoing.items():
            tagged = word.startswith("{")
            key = ("" if tagged else word, to)
            if tagged and key not in out:
                tags[state, to] = word[1:-1]
            elif not word and tags.pop((state, to), None) is not None:
                pass  # Two ways, of which one is free: the way is free.
            out[key] = out.get(key, 0.0) + chance
        arcs.append(out)
    return Automaton(arcs, found.final, tags)


class _Subsets:
    """Subset construction; `count` holds how many sets of states each state of it stands for."""

    def __init__(self, network: WordNetwork) -> None:
        self.network = network
        self.hubs = _hubs(network)
        self.arcs: list[dict[tuple[str, int], float]] = []
        self.final: dict[int, float] = {}
        self.count: list[int] = []
        self._number: dict[frozenset[int], int] = {}
        self._kernels: list[dict[int, float]] = []
        self._same: dict[int, int] = {}
        self._into_hub: dict[int, int] = {}
        self._target({network.start: 1.0})
        for place, kernel in enumerate(self._kernels):
            self._expand(place, kernel)

    def _expand(self, place: int, kernel: dict[int, float]) -> None:
        inside, outside = self._closure(kernel)
        by_word: dict[str, dict[int, float]] = {}
        for state, chance in inside.items():
            for arc in self.network.arcs[state]:
                symbol = _symbol(arc)
                if symbol is not None:
                    group = by_word.setdefault(symbol, {})
                    group[arc.to] = group.get(arc.to, 0.0) + chance * math.exp(arc.logprob)
        out = {(word, self._target(group)): sum(group.values()) for word, group in by_word.items()}
        for hub, chance in outside.items():
            out["", self._target({hub: 1.0})] = chance
        ends = inside.get(self.network.end, 0.0)
        total = sum(out.values()) + ends
        if total and abs(total - 1) > LOST:
            # Ways cut off by <VOID>, or round and round without a word, leave their share to the others.
            out = {key: chance / total for key, chance in out.items()}
            ends /= total
        self.arcs.append(out)
        if ends:
            self.final[place] = ends

    def _target(self, weights: dict[int, float]) -> int:
        key = frozenset(weights)
        found = self._number.get(key)
        if found is None:
            joined = frozenset(map(self._end_of_chain, key)) if len(key) == 1 else key
            found = self._number.get(joined)
            if found is None:
                found = self._number[joined] = len(self._kernels)
                total = sum(weights.values())
                self._kernels.append({state: chance / total for state, chance in weights.items()})
                self.count.append(0)
            self._number[key] = found
            self.count[found] += 1
        return found

    def _end_of_chain(self, state: int) -> int:
        """Where a state leads that has one way only, without a word: most states after a rule's end."""
        at = state
        while at not in self._same:
            arcs = self.network.arcs[at]
            if len(arcs) != 1 or _symbol(arcs[0]) is not None or arcs[0].logprob < 0 or at in self.hubs:
                break
            if arcs[0].to in self.hubs:
                at = self._into_hub.setdefault(arcs[0].to, at)
                break
            at = arcs[0].to
        self._same[state] = self._same.get(at, at)
        return self._same[state]

    def _closure(self, weights: dict[int, float]) -> tuple[dict[int, float], dict[int, float]]:
        """States reached without a word, as (states within, hubs), each with its chance."""
        inside: dict[int, float] = dict.fromkeys(self._order(weights), 0.0)
        outside: dict[int, float] = {}
        for state, chance in weights.items():
            inside[state] += chance
        done = set()
        for at, chance in inside.items():
            done.add(at)
            for arc in self.network.arcs[at]:
                if _symbol(arc) is not None or arc.to in done:
                    continue
                following = chance * math.exp(arc.logprob) if arc.logprob else chance
                if arc.to in self.hubs:
                    outside[arc.to] = outside.get(arc.to, 0.0) + following
                else:
                    inside[arc.to] += following
        return inside, outside

    def _order(self, starts: dict[int, float]) -> list[int]:
        """States reached without a word and without entering a hub; loops aside, none before its sources."""
        order: list[int] = []
        seen: set[int] = set()
        for start in starts:
            if start in seen:
                continue
            seen.add(start)
            stack = [(start, iter(self.network.arcs[start]))]
            while stack:
                state, rest = stack[-1]
                for arc in rest:
                    if _symbol(arc) is None and arc.to not in seen and arc.to not in self.hubs:
                        seen.add(arc.to)
                        stack.append((arc.to, iter(self.network.arcs[arc.to])))
                        break
                else:
                    order.append(state)
                    stack.pop()
        return order[::-1]


def _merged(given: Automaton, count: list[int]) -> Automaton:
    """Join states that allow the same continuations (partition refinement), averaging their chances."""
    block = [int(state in given.final) for state in range(len(given.arcs))]
    while True:
        signs: dict[object, int] = {}
        following = []
        for state, arcs in enumerate(given.arcs):
            sign = (block[state], frozenset((word, block[to]) for word, to in arcs))
            following.append(signs.setdefault(sign, len(signs)))
        if len(signs) == len(set(block)):
            break
        block = following
    # The start keeps number 0: blocks are numbered in order of first appearance and state 0 comes first.
    members: dict[int, list[int]] = {}
    for state, name in enumerate(following):
        members.setdefault(name, []).append(state)
    arcs_of: list[dict[tuple[str, int], float]] = []
    final: dict[int, float] = {}
    for name, states in members.items():
        total = sum(count[state] for state in states)
        out: dict[tuple[str, int], float] = {}
        for state in states:
            for (word, to), chance in given.arcs[state].items():
                key = (word, following[to])
                out[key] = out.get(key, 0.0) + chance * count[state] / total
        arcs_of.append(out)
        ends = sum(given.final.get(state, 0.0) * count[state] for state in states) / total
        if ends:
            final[name] = ends
    return Automaton(arcs_of, final)
