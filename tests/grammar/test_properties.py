"""Random grammars: what is matched, sampled and searched is one and the same language.

Outside reference: PocketSphinx with its own JSGF reader.
"""

from __future__ import annotations

import random
from pathlib import Path

import pocketsphinx
import pytest
from grammars_at_random import SENTENCES, Part, grammars, repeated
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from searching import Fsg

from voicelog.grammar import Network, load_grammar

HEADER = "#JSGF V1.0;\ngrammar test;\n"
FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
NESTED = Part("public <top> = ((([a])*)+ (<NULL> | [b]))*;", repeated(frozenset({("a",), ("b",)})))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("grammars")


def load(part: Part, folder: Path) -> Network:
    path = folder / "test.jsgf"
    path.write_text(HEADER + part.jsgf, encoding="utf-8")
    return load_grammar(path).network()


def language(part: Part) -> list[bool]:
    """For every word list of SENTENCES, whether it can be said."""
    return [words in part.language for words in SENTENCES]


@FEW
@given(grammars())
@example(NESTED)
def test_exactly_the_sentences_of_the_grammar_match(folder: Path, part: Part) -> None:
    network = load(part, folder)
    assert [bool(network.match(words, 1)) for words in SENTENCES] == language(part)


@FEW
@given(grammars())
@example(NESTED)
def test_the_search_network_accepts_the_same_and_its_chances_sum_to_one(folder: Path, part: Part) -> None:
    fsg = Fsg(load(part, folder).fsg())
    assert [fsg.accepts(words) for words in SENTENCES] == language(part)
    for state, ways in fsg.ways.items():
        assert state == fsg.final or sum(chance for _, chance, _ in ways) == pytest.approx(1, abs=1e-4)


@FEW
@given(grammars(), st.integers(0, 2**32), st.booleans())
@example(Part("public <top> = ((([<NULL>])*)+)+;", frozenset({()})), 6152716, False)
def test_a_sample_matches_and_gives_the_tags_it_was_sampled_from(
    folder: Path, part: Part, seed: int, uniform: bool
) -> None:
    network = load(part, folder)
    sample = network.sample(random.Random(seed), 6, uniform=uniform)
    parses = network.match(sample.words, 300)
    assert parses[0].logprob >= sample.parse.logprob - 1e-9
    assert [one.logprob for one in parses] == sorted((one.logprob for one in parses), reverse=True)
    assert len({one.root for one in parses}) == len(parses)
    if len(parses) < 12:
        assert sample.parse.root in [one.root for one in parses]
        assert sample.tags in [one.tags() for one in parses]


@FEW
@given(grammars(), st.lists(st.sampled_from("abcx"), max_size=6))
def test_where_a_word_list_stops_and_what_could_come_there(
    folder: Path, part: Part, words: list[str]
) -> None:
    network = load(part, folder)
    fsg = Fsg(network.fsg())
    states = fsg.run(words)
    stop = network.stop(words)
    if fsg.accepts(words):
        assert stop is None
        return
    assert stop is not None
    # Every state of the search network leads to an end, so the first word without a state is the one.
    failed = next((index for index, reached in enumerate(states[1:]) if not reached), len(words))
    assert stop.index == failed
    assert set(stop.expected) == fsg.following(states[failed])


@FEW
@given(grammars())
def test_the_cover_takes_every_alternative_and_says_every_word(folder: Path, part: Part) -> None:
    network = load(part, folder)
    cover = network.cover()
    taken = {label for sample in cover for label in sample.parse.alternatives_used}
    assert taken == set(network.alternatives())
    assert {word for sample in cover for word in sample.words} == network.words()
    assert all(network.match(sample.words, 1) for sample in cover)


@pytest.fixture(scope="module")
def decoder() -> pocketsphinx.Decoder:
    return pocketsphinx.Decoder(lm=None, loglevel="FATAL")


@settings(FEW, max_examples=30)
@given(grammars())
@example(NESTED)
def test_pocketsphinx_reads_grammar_and_search_network_as_the_same_language(
    folder: Path, decoder: pocketsphinx.Decoder, part: Part
) -> None:
    network = load(part, folder)
    path = folder / "test.fsg"
    path.write_text(network.fsg(), encoding="utf-8")
    theirs = decoder.parse_jsgf(HEADER + part.jsgf)
    ours = decoder.read_fsg(str(path))
    for words in filter(None, SENTENCES):
        said = " ".join(words)
        assert bool(network.match(said, 1)) == theirs.accept(said) == ours.accept(said), said
