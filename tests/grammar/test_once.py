"""Parts that a note takes once: matched, sampled and searched alike."""

from __future__ import annotations

import itertools
import random

import pytest
from searching import Fsg
from writing import Write

from voicelog.grammar import Network
from voicelog.grammar.once import NOTHING, Held, may_end

LOOP = """
public <note> = <NULL> {fresh}
    ( a {once=a/place} {x=a} | b {once=b/place} {x=b} | c {once=c} {x=c} | <NULL> {mend} no )+;
"""
WORDS = [words for n in range(1, 6) for words in itertools.product(("a", "b", "c", "no"), repeat=n)]


def allowed(words: tuple[str, ...]) -> bool:
    """By hand: each letter once, "no" only after a letter and before one of its family."""
    family = {"a": "ab", "b": "ab", "c": "c"}
    used: set[str] = set()
    again: set[str] = set()
    last = ""
    for word in words:
        if word == "no":
            if again or not last:
                return False
            again = set(family[last])
            used -= again
        elif word in used or (again and word not in again):
            return False
        else:
            used.add(word)
            last, again = word, set()
    return not again


@pytest.fixture
def network(write: Write) -> Network:
    return write(LOOP).network()


def test_only_sentences_that_say_nothing_twice_match(network: Network) -> None:
    assert [words for words in WORDS if network.match(words)] == [words for words in WORDS if allowed(words)]


def test_samples_and_cover_say_nothing_twice(network: Network) -> None:
    rng = random.Random(1)
    samples = [network.sample(rng, 5) for _ in range(300)] + network.cover()
    assert all(allowed(sample.words) for sample in samples)
    assert {len(sample.words) for sample in samples} >= {1, 2, 3}


def test_a_search_that_carries_the_bits_along_knows_the_same_sentences(network: Network) -> None:
    automaton = network.automaton

    def accepts(words: tuple[str, ...]) -> bool:
        def silent(places: set[tuple[int, Held]]) -> set[tuple[int, Held]]:
            waiting = list(places)
            while waiting:
                state, held = waiting.pop()
                for word, to in automaton.arcs[state]:
                    if word:
                        continue
                    tag = automaton.tags.get((state, to))
                    after = held if tag is None else network.limits.passed(held, tag)
                    if after is not None and (to, after) not in places:
                        places.add((to, after))
                        waiting.append((to, after))
            return places

        places = silent({(0, NOTHING)})
        for said in words:
            places = silent(
                {(to, held) for state, held in places for word, to in automaton.arcs[state] if word == said}
            )
        return any(state in automaton.final and may_end(held) for state, held in places)

    assert [accepts(words) for words in WORDS] == [allowed(words) for words in WORDS]


def test_a_search_that_cannot_carry_them_knows_more(network: Network) -> None:
    fsg = Fsg(network.fsg())
    assert all(fsg.accepts(words) for words in WORDS if allowed(words))
    assert fsg.accepts(("a", "a"))


def test_any_word_can_stand_for_free_words(write: Write) -> None:
    network = write("public <memo> = memo ( … {x=said} )+ | stop;").network()
    (parse,) = network.match("memo ring the bodyshop")
    assert [(tag.start, tag.end) for tag in parse.tags()] == [(1, 2), (2, 3), (3, 4)]
    assert not network.match("ring the bodyshop")
    assert network.words() == {"memo", "stop"}
    assert "…" not in network.fsg()
    assert not any("…" in phrase for phrase in network.phrases())
