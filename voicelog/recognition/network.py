"""The search network as the decoder takes it, and the same network without one answer.

Leaving the first answer out and searching again gives the exact runner-up; how much worse
it scores is the best single measure of whether the first answer is right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from voicelog.errors import VoicelogError
from voicelog.grammar import Network

Arcs = dict[tuple[str | None, int], float]
"""Where a state leads: (word, or None for a step without one; next state) -> probability."""

LITTLE_WORDS = (
    "a an and at can er for from get give have i i'd i'm in is it it's like make may me of on please "
    "that the there there's to uh um want was we with"
)
FUNCTION_WORDS = frozenset(LITTLE_WORDS.split())
"""Words that do not change what a sentence means; two answers that differ only here count as one."""
SAME_WORDS = {"mils": "mil", "driver's": "driver", "passenger's": "passenger"}
"""Words that mean the same wherever they stand."""


@dataclass(frozen=True)
class SearchNetwork:
    """A weighted word network with one start and any number of ends.  Treat it as immutable."""

    start: int
    out: dict[int, Arcs]
    final: frozenset[int]

    def words(self) -> frozenset[str]:
        """Every word of the network."""
        return frozenset(word for arcs in self.out.values() for word, _ in arcs if word is not None)

    def fsg(self, name: str) -> str:
        """The network in Sphinx FSG text form."""
        number = {state: index for index, state in enumerate(self.out)}
        end = len(number)
        lines = [f"FSG_BEGIN {name}", f"NUM_STATES {end + 1}", f"START_STATE {number[self.start]}"]
        lines.append(f"FINAL_STATE {end}")
        for state, arcs in self.out.items():
            for (word, target), chance in arcs.items():
                lines.append(
                    f"TRANSITION {number[state]} {number[target]} {chance:.6g} {word or ''}".rstrip()
                )
            if state in self.final:
                lines.append(f"TRANSITION {number[state]} {end} 1.0")
        return "\n".join([*lines, "FSG_END", ""])

    def excluding(
        self, words: Iterable[str], content: Callable[[str], str | None] = lambda word: word
    ) -> SearchNetwork | None:
        """The network without the sentences that say the same as `words`.

        Args:
            words: the sentence to leave out.
            content: what a word stands for: words with one value are the same, words with
                None do not count.

        Returns:
            The product of this network with "differs from `words` in at least one content
            word", or None when nothing else can be said.
        """
        said = [item for item in map(content, words) if item is not None]
        differs = len(said) + 1
        ids = {(self.start, 0): 0}
        todo = [(self.start, 0)]
        out: dict[int, Arcs] = {0: {}}
        final: set[int] = set()
        for pair in todo:
            state, place = pair
            if place != len(said) and state in self.final:
                final.add(ids[pair])
            for (word, target), chance in self.out[state].items():
                item = None if word is None else content(word)
                step = place
                if item is not None and place != differs:
                    step = place + 1 if place < len(said) and item == said[place] else differs
                reached = (target, step)
                if reached not in ids:
                    ids[reached] = len(ids)
                    out[ids[reached]] = {}
                    todo.append(reached)
                out[ids[pair]][word, ids[reached]] = chance
        return _pruned(SearchNetwork(0, out, frozenset(final)))


def search_network(network: Network) -> SearchNetwork:
    """The decoder's network of a grammar."""
    return parse_fsg(network.fsg())


def parse_fsg(text: str) -> SearchNetwork:
    """Read a network in Sphinx FSG text form.

    Raises:
        VoicelogError: when it has no start or no final state, or nothing leads from one to the other.
    """
    start = end = None
    out: dict[int, Arcs] = {}
    for line in text.splitlines():
        match line.split():
            case ["START_STATE", state]:
                start = int(state)
            case ["FINAL_STATE", state]:
                end = int(state)
            case ["TRANSITION" | "T", source, target, chance, *word]:
                arcs = out.setdefault(int(source), {})
                out.setdefault(int(target), {})
                if word or source != target:
                    arcs[word[0] if word else None, int(target)] = float(chance)
    if start is not None and end is not None and start in out:
        network = _pruned(SearchNetwork(start, out, frozenset({end})))
        if network is not None:
            return network
    raise VoicelogError("the grammar has no sentence that can be said")


def _pruned(network: SearchNetwork) -> SearchNetwork | None:
    """Only the states from which an end can be reached; None when the start is none of them."""
    back: dict[int, list[int]] = {state: [] for state in network.out}
    for state, arcs in network.out.items():
        for _, target in arcs:
            back[target].append(state)
    alive = set(network.final)
    todo = list(alive)
    while todo:
        for source in back[todo.pop()]:
            if source not in alive:
                alive.add(source)
                todo.append(source)
    if network.start not in alive:
        return None
    out = {
        state: {key: chance for key, chance in arcs.items() if key[1] in alive}
        for state, arcs in network.out.items()
        if state in alive
    }
    return SearchNetwork(network.start, out, network.final)


def content_word(word: str) -> str | None:
    """A word as it counts when answers are compared; None for one that carries no meaning."""
    return None if word in FUNCTION_WORDS else SAME_WORDS.get(word, word)


def same_meaning(network: Network, first: str, second: str) -> bool:
    """Whether two sentences of a grammar carry the same tags in the same order.

    False for sentences without tags: only their words could be compared.
    """
    parses = [network.match(words, 1) for words in (first, second)]
    if not all(parses):
        return False
    mine, other = ([tag.text for tag in found[0].tags()] for found in parses)
    return bool(mine) and mine == other
