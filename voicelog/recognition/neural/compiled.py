"""What the search needs of a grammar, worked out once and kept in the cache folder."""

from __future__ import annotations

import contextlib
import hashlib
import json
import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

import platformdirs

from voicelog.errors import VoicelogError
from voicelog.files import write_atomically
from voicelog.grammar import load_grammar
from voicelog.recognition.neural.spelling import spellings

FORMAT = 1
"""Counts up when what is kept, or how it is worked out, changes."""

Arcs = list[dict[str, list[tuple[int, float]]]]
"""For each state the words that can come next, each with the states after it and the log chance."""


@dataclass(frozen=True)
class Compiled:
    """A grammar without steps that say nothing; state 0 is the start."""

    arcs: Arcs
    final: dict[int, float]
    """Log chance to end in a state."""
    written: dict[str, list[str]]
    """The texts that each word may be written as."""


def compiled(grammar: Path, lexicon: Path | None = None) -> Compiled:
    """The compiled grammar, from the cache where it is there.

    Raises:
        VoicelogError: the grammar or the lexicon cannot be used.
    """
    loaded = load_grammar(grammar)
    added = "" if lexicon is None else hashlib.sha256(lexicon.read_bytes()).hexdigest()
    name = hashlib.sha256(f"{FORMAT} {loaded.sha256} {added}".encode()).hexdigest()[:32]
    path = platformdirs.user_cache_path("voicelog") / "grammars" / f"{name}.json"
    with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
        data = json.loads(path.read_text(encoding="utf-8"))
        return Compiled(data["arcs"], {int(state): p for state, p in data["final"].items()}, data["written"])
    network = loaded.network()
    arcs, final = closed(network.automaton.arcs, network.automaton.final)
    if not final:
        raise VoicelogError("the grammar has no sentence that can be said", where=str(grammar))
    found = Compiled(arcs, final, spellings(sorted(network.words()), lexicon))
    with contextlib.suppress(VoicelogError):
        write_atomically(path, json.dumps(asdict(found)).encode())
    return found


def closed(
    arcs: list[dict[tuple[str, int], float]], final: Mapping[int, float]
) -> tuple[Arcs, dict[int, float]]:
    """An automaton's arcs without steps that say nothing, in log chances."""
    out: Arcs = []
    ends: dict[int, float] = {}
    for start in range(len(arcs)):
        best, waiting = {start: 0.0}, [start]
        while waiting:
            at = waiting.pop()
            for (word, to), chance in arcs[at].items():
                if not word and chance > 0 and best[at] + math.log(chance) > best.get(to, -math.inf):
                    best[to] = best[at] + math.log(chance)
                    waiting.append(to)
        ways: dict[str, dict[int, float]] = defaultdict(dict)
        for at, before in best.items():
            if final.get(at, 0) > 0:
                ends[start] = max(ends.get(start, -math.inf), before + math.log(final[at]))
            for (word, to), chance in arcs[at].items():
                if word and chance > 0:
                    ways[word][to] = max(ways[word].get(to, -math.inf), before + math.log(chance))
        out.append({word: list(states.items()) for word, states in ways.items()})
    return out, ends
