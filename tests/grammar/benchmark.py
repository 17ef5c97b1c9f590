"""How long the grammar room takes: `python -m tests.grammar.benchmark` from the top of the repository.

Every figure is the best of some runs, in milliseconds of processor time, each on a grammar or network
that remembers nothing of an earlier run, unless it says "again".
"""

from __future__ import annotations

import os
import random
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from voicelog.grammar import Grammar, Network, load_grammar

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"
SENTENCE = [
    *("rear", "right", "door", "steel", "forty", "five", "by", "thirty", "mil", "shallow"),
    *("crease", "body", "line", "trim", "off", "door", "card", "glue", "pull", "please"),
]


def best(act: Callable[[Network], object], fresh: Callable[[], Network], runs: int) -> float:
    """The best time of some runs, in milliseconds; `fresh` is not counted."""
    times = []
    for _ in range(runs):
        network = fresh()
        start = time.process_time()
        act(network)
        times.append((time.process_time() - start) * 1000)
    return min(times)


def copy(network: Network) -> Network:
    """The same network without what was found out about it."""
    return Network(network.arcs, network.start, network.end, network.labels)


def searched(network: Network) -> Network:
    """A copy whose search automaton has been made."""
    made = copy(network)
    made.fsg()
    return made


def walked(network: Network) -> Network:
    """A copy that has matched some sentence."""
    made = copy(network)
    made.match("left")
    return made


def slowest_match(network: Network, sentences: int) -> tuple[float, str]:
    """The slowest of random sentences, each matched once, and what it says."""
    rng = random.Random(1)
    found = []
    for _ in range(sentences):
        words = network.sample(rng).words
        start = time.process_time()
        network.match(words)
        found.append(((time.process_time() - start) * 1000, " ".join(words)))
    return max(found)


def main() -> None:
    grammar: Grammar = load_grammar(GRAMMAR)
    network = grammar.network()
    warm = walked(network)
    if len(SENTENCE) != 20 or not network.match(SENTENCE):
        raise SystemExit("the sentence of 20 words is none of the grammar's")
    figures = {
        "load": best(lambda _: load_grammar(GRAMMAR), lambda: network, 3),
        "build the network": best(lambda _: grammar.network(), lambda: network, 3),
        "automaton": best(lambda made: made.automaton, lambda: copy(network), 3),
        "FSG text": best(lambda made: made.automaton.fsg("x"), lambda: automaton_only(network), 3),
        "FSG text again": best(lambda made: made.fsg(), lambda: searched(network), 3),
        "match 20 words, the first sentence": best(
            lambda made: made.match(SENTENCE), lambda: copy(network), 3
        ),
        "match 20 words": best(lambda made: made.match(SENTENCE), lambda: walked(network), 3),
        "match 20 words again": best(lambda made: made.match(SENTENCE), lambda: warm, 10),
    }
    with TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = folder
        figures["free talk's network, built"] = best(lambda made: made.wider, grammar.network, 1)
        figures["free talk's network, from the cache"] = best(lambda made: made.wider, grammar.network, 3)
    for name, milliseconds in figures.items():
        print(f"{name:36} {milliseconds:10.1f} ms")
    worst, said = slowest_match(walked(network), 500)
    print(f"{'slowest of 500 random sentences':36} {worst:10.1f} ms  ({said})")
    arcs = sum(map(len, network.arcs))
    found = network.automaton
    print(f"network: {len(network.arcs)} states, {arcs} arcs, {len(network.words())} words")
    print(f"automaton: {len(found.arcs)} states, {sum(map(len, found.arcs))} arcs")


def automaton_only(network: Network) -> Network:
    """A copy whose automaton has been made, but not its text."""
    made = copy(network)
    made.automaton  # noqa: B018
    return made


if __name__ == "__main__":
    main()
