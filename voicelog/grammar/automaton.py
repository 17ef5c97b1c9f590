"""The network without its marks and with few arcs: what a recogniser searches.

States that can begin the same words are joined (subset construction), except across *hubs*:
states such as the top of an any-order loop, which many states lead to and which can begin many words.
A hub stays one state that others reach without a word, because copying its words into every state
would make the search many times larger.  Chances follow the network's weights.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from voicelog.grammar.match import walker
from voicelog.grammar.network import Network

HUB_WORDS = 12
"""A hub can begin at least this many words."""
HUB_WAYS = 3
"""At least this many arcs lead to a hub."""


@dataclass(frozen=True)
class Automaton:
    """States 0 to `len(arcs) - 1`, 0 is the start; `arcs[state][(word, to)]` is a chance.

    The word "" stands for a way that says nothing.
    """

    arcs: list[dict[tuple[str, int], float]]
    final: dict[int, float]
    """Chance to end in a state."""

    def fsg(self, name: str) -> str:
        """Sphinx FSG text: one start state, one final state, chances as probabilities."""
        last = len(self.arcs)
        lines = [f"FSG_BEGIN {name}", f"NUM_STATES {last + 1}", "START_STATE 0", f"FINAL_STATE {last}"]
        for state, arcs in enumerate(self.arcs):
            for (word, to), chance in arcs.items():
                lines.append(f"TRANSITION {state} {to} {max(chance, 1e-9):.6g} {word}".rstrip())
        for state, chance in self.final.items():
            lines.append(f"TRANSITION {state} {last} {max(chance, 1e-9):.6g}")
        lines.append("FSG_END")
        return "\n".join(lines) + "\n"

    def excluding(self, content: list[str], is_content: Callable[[str], bool]) -> Automaton:
        """The same sentences but those whose content words are exactly `content`.

        Product with a counter of how many content words are matched so far: a state of the product is
        (state, count) as long as nothing differs, and the plain state once something does.
        """
        offset = len(self.arcs)
        number: dict[tuple[int, int], int] = {(0, 0): 0}
        order = [(0, 0)]
        extra: list[dict[tuple[str, int], float]] = []
        final = {state + 1: chance for state, chance in self.final.items()}
        # The start of the product comes first, the plain states move up by one.
        shifted = [{(word, to + 1): chance for (word, to), chance in arcs.items()} for arcs in self.arcs]
        for state, matched in order:
            out: dict[tuple[str, int], float] = {}
            for (word, to), chance in self.arcs[state].items():
                if word and is_content(word):
                    following = matched + 1 if matched < len(content) and word == content[matched] else None
                else:
                    following = matched
                if following is None:
                    target = to + 1
                else:
                    pair = (to, following)
                    if pair not in number:
                        number[pair] = offset + len(order)
                        order.append(pair)
                    target = number[pair]
                out[word, target] = out.get((word, target), 0.0) + chance
            extra.append(out)
            if state in self.final and matched < len(content):
                final[number[state, matched]] = self.final[state]
        return Automaton([extra[0], *shifted, *extra[1:]], final)


def reduce(network: Network) -> Automaton:
    """Join the states of a network that search need not tell apart."""
    return _merged(_subsets(network))


def _hubs(network: Network) -> frozenset[int]:
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


def _closure(
    network: Network, hubs: frozenset[int], weights: dict[int, float]
) -> tuple[dict[int, float], dict[int, float]]:
    """States reached without a word, as (states with words, hubs), each with its chance."""
    inside: dict[int, float] = {}
    outside: dict[int, float] = {}
    waiting = [(state, chance, frozenset((state,))) for state, chance in weights.items()]
    while waiting:
        at, chance, passed = waiting.pop()
        inside[at] = inside.get(at, 0.0) + chance
        for arc in network.arcs[at]:
            if arc.word is not None or arc.to in passed:
                continue
            following = chance * math.exp(arc.logprob)
            if arc.to in hubs:
                outside[arc.to] = outside.get(arc.to, 0.0) + following
            else:
                waiting.append((arc.to, following, passed | {arc.to}))
    return inside, outside


def _subsets(network: Network) -> Automaton:
    hubs = _hubs(network)
    number: dict[frozenset[int], int] = {frozenset((network.start,)): 0}
    kernels: list[dict[int, float]] = [{network.start: 1.0}]
    arcs: list[dict[tuple[str, int], float]] = []
    final: dict[int, float] = {}

    def target(weights: dict[int, float]) -> int:
        key = frozenset(weights)
        if key not in number:
            number[key] = len(kernels)
            total = sum(weights.values())
            kernels.append({state: chance / total for state, chance in weights.items()})
        return number[key]

    for place, kernel in enumerate(kernels):
        inside, outside = _closure(network, hubs, kernel)
        by_word: dict[str, dict[int, float]] = {}
        for state, chance in inside.items():
            for arc in network.arcs[state]:
                if arc.word is not None:
                    group = by_word.setdefault(arc.word, {})
                    group[arc.to] = group.get(arc.to, 0.0) + chance * math.exp(arc.logprob)
        out = {(word, target(group)): sum(group.values()) for word, group in by_word.items()}
        for hub, chance in outside.items():
            out["", target({hub: 1.0})] = chance
        arcs.append(out)
        if network.end in inside:
            final[place] = inside[network.end]
    return Automaton(arcs, final)


def _merged(given: Automaton) -> Automaton:
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
        out: dict[tuple[str, int], float] = {}
        for state in states:
            for (word, to), chance in given.arcs[state].items():
                key = (word, following[to])
                out[key] = out.get(key, 0.0) + chance / len(states)
        arcs_of.append(out)
        ends = sum(given.final.get(state, 0.0) for state in states) / len(states)
        if ends:
            final[name] = ends
    return Automaton(arcs_of, final)
