"""A network as JSON, so that a large one is built once and then kept in the cache folder.

A network is kept in columns, one entry an arc, with every word, chance and mark written once.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Iterable
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from voicelog.files import kept_in_cache
from voicelog.grammar.load import SUFFIXES
from voicelog.grammar.match import Walker, walker
from voicelog.grammar.network import Arc, Mark, WordNetwork
from voicelog.grammar.once import Limits
from voicelog.grammar.own_words import OwnWords

_T = TypeVar("_T", bound=Hashable)


def kept_network(grammar: Path, build: Callable[[], WordNetwork], own: OwnWords = ()) -> WordNetwork:
    """The network of a grammar file, from the cache where it is there, with its walker made.

    It is built anew where a grammar file beside it, or the code that builds it, has changed.
    """
    return kept_in_cache(f"{_key(grammar)} {own}", build, packed, unpacked)


def _key(grammar: Path) -> str:
    beside = [path for path in grammar.parent.iterdir() if path.suffix in SUFFIXES]
    digest = hashlib.sha256(str(grammar.name).encode())
    for path in sorted([*beside, *Path(__file__).parent.glob("*.py")]):
        digest.update(hashlib.sha256(path.name.encode() + b"\0" + path.read_bytes()).digest())
    return digest.hexdigest()


def packed(network: WordNetwork) -> dict[str, Any]:
    """The network and what can come first from each of its states, as JSON can hold it."""
    arcs = [arc for outgoing in network.arcs for arc in outgoing]
    words, word = _numbered(arc.word for arc in arcs)
    chances, chance = _numbered(arc.logprob for arc in arcs)
    marks, mark = _numbered(arc.mark for arc in arcs)
    first, begins = _numbered(walker(network).first)
    return {
        "start": network.start, "end": network.end, "labels": network.labels,
        "bits": network.limits.bits, "families": network.limits.families,
        "words": words, "chances": chances, "marks": marks, "first": [f"{bits:x}" for bits in first],
        "to": [arc.to for arc in arcs], "word": word, "chance": chance, "mark": mark,
        "ways": list(map(len, network.arcs)), "begins": begins,
    }  # fmt: skip


def unpacked(data: dict[str, Any]) -> WordNetwork:
    """The network of `packed`.

    Raises:
        ValueError, TypeError, LookupError: the data is none.
    """
    columns = [data["to"], data["word"], data["chance"], data["mark"]]
    if {*map(len, columns)} != {sum(data["ways"])} or max(data["to"]) >= len(data["ways"]):
        raise ValueError("columns of different lengths")
    marks = [
        None if mark is None else Mark(mark[0], mark[1], tuple(mark[2]), mark[3]) for mark in data["marks"]
    ]
    tables: list[list[Any]] = [data["words"], data["chances"], marks]
    looked_up = (map(table.__getitem__, column) for table, column in zip(tables, columns[1:], strict=True))
    arcs = map(Arc, data["to"], *looked_up)
    network = WordNetwork(
        [list(islice(arcs, ways)) for ways in data["ways"]],
        data["start"],
        data["end"],
        tuple(data["labels"]),
        Limits(data["bits"], data["families"]),
    )
    first = [int(bits, 16) for bits in data["first"]]
    network.memo["walker"] = Walker(network, [first[number] for number in data["begins"]])
    return network


def _numbered(values: Iterable[_T]) -> tuple[list[_T], list[int]]:
    """Each value once, and for every value where it stands among them."""
    places: dict[_T, int] = {}
    numbers = [places.setdefault(value, len(places)) for value in values]
    return list(places), numbers
