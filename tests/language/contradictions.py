"""How many sentences of the language contradict themselves: `python -m tests.language.contradictions`.

A sentence contradicts itself where its own way through the network says a slot twice that holds one
value (other than in a self-correction before a value of that slot), or begins a self-correction that
nothing follows.  Weighted samples: what the recogniser takes for likely.
"""

from __future__ import annotations

import random
from pathlib import Path

from voicelog.grammar import Network, Sample, load_grammar
from voicelog.meaning.region import Region
from voicelog.meaning.tags_to_values import STEERING, said_in
from voicelog.vocabulary import LISTS

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"
SAMPLES = 2000
_PLACE = {"panel", "end", "side"}


def contradicts(sample: Sample) -> bool:
    """Whether a sentence contradicts itself."""
    held: set[str] = set()
    mending = ""
    last = ""
    for item in said_in(sample.parse.root, sample.words, Region("GB")):
        if item.slot == "tally":
            held &= _PLACE  # Of several counts in one breath each is a note of its own.
        if item.slot == "oops":
            if mending or not last:
                return True
            mending = last
        elif item.slot not in STEERING and item.slot not in LISTS:
            family = _PLACE if item.slot in _PLACE else {item.slot}
            if mending and mending not in family:
                return True
            if mending:
                held -= family
            if item.slot in held:
                return True
            held.add(item.slot)
            mending, last = "", item.slot
        elif item.slot not in STEERING:
            mending, last = "", item.slot
    return bool(mending)


def share(network: Network, samples: int = SAMPLES, seed: int = 1) -> float:
    """Share of weighted samples that contradict themselves."""
    rng = random.Random(seed)
    return sum(contradicts(network.sample(rng)) for _ in range(samples)) / samples


def main() -> None:
    """Print the share and some of the sentences."""
    network = load_grammar(GRAMMAR).network()
    print(f"{share(network):.1%} of {SAMPLES} weighted samples contradict themselves")
    rng = random.Random(1)
    found = (network.sample(rng) for _ in range(SAMPLES))
    for sample in list(filter(contradicts, found))[:20]:
        print(" ", " ".join(sample.words))


if __name__ == "__main__":
    main()
