"""The search grammar in the hands of PocketSphinx, and the one without an answer."""

from __future__ import annotations

import random
from pathlib import Path

import pocketsphinx
import pytest
from searching import Fsg
from writing import Write

from voicelog.grammar import Network, load_grammar
from voicelog.grammar.network import ANY

GRAMMARS = Path(__file__).parents[2] / "grammars"
PANELS = "public <a> = [the] (door | roof | wing) (left | right) [please];"


@pytest.fixture(scope="module")
def trade() -> Network:
    return load_grammar(GRAMMARS / "voicelog.jsgf").network()


def test_the_form_of_the_text(write: Write) -> None:
    assert write("public <a> = /3/ x | /1/ y z;").network().fsg("mine") == (
        "FSG_BEGIN mine\nNUM_STATES 4\nSTART_STATE 0\nFINAL_STATE 3\n"
        "TRANSITION 0 1 0.75 x\nTRANSITION 0 2 0.25 y\nTRANSITION 2 1 1 z\nTRANSITION 1 3 1\nFSG_END\n"
    )


def test_pocketsphinx_searches_it(write: Write, tmp_path: Path) -> None:
    path = tmp_path / "panels.fsg"
    path.write_text(write(PANELS).network().fsg("panels"))
    decoder = pocketsphinx.Decoder(lm=None, loglevel="FATAL")
    decoder.add_fsg("panels", decoder.read_fsg(str(path)))
    decoder.activate_search("panels")
    decoder.start_utt()
    decoder.process_raw(bytes(32000), full_utt=True)
    decoder.end_utt()
    assert decoder.current_search() == "panels"
    assert decoder.get_fsg("panels").accept("the door left")
    assert not decoder.get_fsg("panels").accept("left door")


def test_the_search_network_of_the_trade_language_is_the_language(trade: Network) -> None:
    fsg = Fsg(trade.fsg())
    rng = random.Random(6)
    words = sorted(trade.words())
    for _ in range(150):
        said = list(trade.sample(rng, 15).words)
        if ANY in said:
            continue  # free words are nothing for a finite-state search
        assert fsg.accepts(said)
        said[rng.randrange(len(said))] = rng.choice(words)
        del said[rng.randrange(len(said)) :]
        # It cannot carry along what was said once, so it knows a little more.
        parses = trade.match(said, 1)
        free = any(tag.text.startswith("text") for parse in parses for tag in parse.root.all_tags())
        assert fsg.accepts(said) or free or not parses, said


def test_phrases_are_sentences_or_single_words_and_hold_every_word(trade: Network) -> None:
    phrases = trade.phrases(8000)
    assert len(phrases) == len(set(phrases)) <= 8000
    assert {word for phrase in phrases for word in phrase.split()} == trade.words()
    assert all(" " not in phrase or trade.match(phrase, 1) for phrase in phrases[:: len(phrases) // 300])
    assert phrases == trade.phrases(8000)
    assert len(trade.phrases(50)) == 50
