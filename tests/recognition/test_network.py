"""The network without one answer, checked against plain listing of sentences."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.recognition.network import SearchNetwork, content_word, parse_fsg

WORDS = ["left", "right", "the", "door", None]


def sentences(network: SearchNetwork, longest: int) -> set[tuple[str, ...]]:
    """All sentences of at most `longest` words, by walking every path."""
    found: set[tuple[str, ...]] = set()
    seen: set[tuple[int, tuple[str, ...]]] = set()
    todo: list[tuple[int, tuple[str, ...]]] = [(network.start, ())]
    while todo:
        state, said = todo.pop()
        if (state, said) in seen:
            continue
        seen.add((state, said))
        if state in network.final:
            found.add(said)
        for word, target in network.out[state]:
            longer = said if word is None else (*said, word)
            if len(longer) <= longest:
                todo.append((target, longer))
    return found


def content(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for word in words if content_word(word) is not None)


arcs = st.lists(
    st.tuples(st.integers(0, 3), st.sampled_from(WORDS), st.integers(0, 3)), min_size=1, max_size=10
)


@given(arcs=arcs, said=st.lists(st.sampled_from(["left", "right", "the", "door"]), max_size=3))
@settings(deadline=None, max_examples=80)
def test_leaves_out_exactly_the_sentences_with_the_same_content(
    arcs: list[tuple[int, str | None, int]], said: list[str]
) -> None:
    out: dict[int, dict[tuple[str | None, int], float]] = {state: {} for state in range(4)}
    for source, word, target in arcs:
        if word is not None or source != target:
            out[source][word, target] = 0.5
    network = SearchNetwork(0, out, frozenset({3}))
    expected = {item for item in sentences(network, 4) if content(item) != content(tuple(said))}
    rest = network.excluding(said, content_word)
    assert (sentences(rest, 4) if rest else set()) == expected


def test_text_form_reads_back_as_the_same_language() -> None:
    out = {0: {("left", 1): 0.5, ("right", 1): 0.5}, 1: {(None, 2): 1.0}, 2: {("door", 0): 0.3}}
    network = SearchNetwork(0, out, frozenset({1, 2}))
    back = parse_fsg(network.fsg("x"))
    assert sentences(back, 5) == sentences(network, 5)
    sides = ["left", "right"]
    expected = {(a,) for a in sides} | {(a, "door", b) for a in sides for b in sides}
    expected |= {(a, "door", b, "door", c) for a in sides for b in sides for c in sides}
    assert sentences(network, 5) == expected


def test_a_network_without_sentences_is_refused() -> None:
    with pytest.raises(VoicelogError, match="no sentence"):
        parse_fsg("FSG_BEGIN x\nNUM_STATES 2\nSTART_STATE 0\nFINAL_STATE 1\nFSG_END\n")
