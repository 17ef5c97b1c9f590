"""What the search needs of a grammar, worked out once and kept in the cache folder."""

from __future__ import annotations

import hashlib
import math
from collections import defaultdict
from dataclasses import asdict, dataclass
from pathlib import Path

from voicelog.errors import VoicelogError
from voicelog.files import kept_in_cache
from voicelog.grammar import OwnWords, load_grammar
from voicelog.grammar.automaton import Automaton
from voicelog.grammar.once import Limits
from voicelog.recognition.neural.spelling import spellings

FORMAT = 3
"""Counts up when what is kept, or how it is worked out, changes."""

Way = tuple[int, float, tuple[str, ...]]
"""The state after a word (or the end), log chance, and tags passed before it that limit what may follow."""


@dataclass(frozen=True)
class Compiled:
    """A grammar without steps that say nothing; state 0 is the start."""

    arcs: list[dict[str, list[Way]]]
    """For each state the words that can come next."""
    ends: list[list[Way]]
    """For each state the ways to end there."""
    written: dict[str, list[str]]
    """The texts that each word may be written as."""
    limits: Limits
    """What can be said once."""


def compiled(grammar: Path, lexicon: Path | None = None, own: OwnWords = ()) -> Compiled:
    """The compiled grammar, from the cache where it is there.

    Raises:
        VoicelogError: the grammar or the lexicon cannot be used.
    """
    loaded = load_grammar(grammar, own)
    added = "" if lexicon is None else hashlib.sha256(lexicon.read_bytes()).hexdigest()

    def make() -> Compiled:
        network = loaded.network()
        arcs, ends = closed(network.automaton)
        if not any(ends):
            raise VoicelogError("the grammar has no sentence that can be said", where=str(grammar))
        return Compiled(arcs, ends, spellings(sorted(network.words()), lexicon), network.limits)

    return kept_in_cache(
        f"{FORMAT} {loaded.sha256} {added}",
        make,
        asdict,
        lambda data: Compiled(**{**data, "limits": Limits(**data["limits"])}),
    )


def closed(automaton: Automaton) -> tuple[list[dict[str, list[Way]]], list[list[Way]]]:
    """An automaton's ways without the steps that say nothing: over each word, and to an end."""
    out, ends = [], []
    for start in range(len(automaton.arcs)):
        reached = _silently(automaton, start)
        ways: dict[str, dict[tuple[int, tuple[str, ...]], float]] = defaultdict(dict)
        for (at, tags), before in reached.items():
            following = [*automaton.arcs[at].items(), (("", -1), automaton.final.get(at, 0.0))]
            for (word, to), chance in following:
                if chance > 0 and (word or to == -1):
                    known = ways[word].get((to, tags), -math.inf)
                    ways[word][to, tags] = max(known, before + math.log(chance))
        listed = {word: [(to, p, tags) for (to, tags), p in found.items()] for word, found in ways.items()}
        ends.append(listed.pop("", []))
        out.append(listed)
    return out, ends


def _silently(automaton: Automaton, start: int) -> dict[tuple[int, tuple[str, ...]], float]:
    """States reached without a word, with the tags passed, and the best log chance of each."""
    best: dict[tuple[int, tuple[str, ...]], float] = {(start, ()): 0.0}
    waiting = list(best)
    while waiting:
        at, tags = waiting.pop()
        for (word, to), chance in automaton.arcs[at].items():
            tag = automaton.tags.get((at, to))
            if word or chance <= 0 or tag in tags:
                continue
            key = to, (tags if tag is None else (*tags, tag))
            likely = best[at, tags] + math.log(chance)
            if likely > best.get(key, -math.inf):
                best[key] = likely
                waiting.append(key)
    return best
