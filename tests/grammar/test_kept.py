"""A network from the cache is the network that was built, and no worse a file stops anything."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest
from writing import Write

from voicelog.grammar import Network, load_grammar
from voicelog.grammar.kept import kept_network, packed, unpacked
from voicelog.grammar.match import match, walker
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"
RULES = """
public <note> = <NULL> {fresh}
    ( a {once=a/place} {x=a} | <far> {once=b/place} | <NULL> {mend} no | so … {kept} )+;
<far> = (far | /0.2/ away off) {x=far} | by <far>;
"""


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "voicelog" / "grammars"


@pytest.fixture(scope="module")
def network() -> Network:
    return load_grammar(GRAMMAR).network()


def test_a_network_comes_back_as_it_was(network: Network) -> None:
    back = unpacked(json.loads(json.dumps(packed(network))))
    assert (back.arcs, back.start, back.end) == (network.arcs, network.start, network.end)
    assert (back.labels, back.limits) == (network.labels, network.limits)
    assert walker(back).first == walker(network).first


def test_it_reads_the_same_as_the_one_built(write: Write) -> None:
    built = write(RULES).network()
    back = unpacked(json.loads(json.dumps(packed(built))))
    sentences = [*itertools.product(("a", "far", "away", "off", "no", "so", "x"), repeat=4)]
    parses = [match(built, list(words), 20) for words in sentences]
    assert sum(map(bool, parses)) > 30
    assert [match(back, list(words), 20) for words in sentences] == parses


def test_it_is_built_once(write: Write, cache: Path) -> None:
    grammar = write(RULES)
    kept_network(grammar.files[0], grammar.network)
    assert len(list(cache.iterdir())) == 1
    again = kept_network(grammar.files[0], lambda: pytest.fail("built again"))
    assert again.arcs == grammar.network().arcs


@pytest.mark.parametrize("damage", ["", "{", "{}", "[]", "7", "deep", "short", "far"])
def test_a_damaged_file_is_built_anew(write: Write, cache: Path, damage: str) -> None:
    grammar = write(RULES)
    kept_network(grammar.files[0], grammar.network)
    (kept,) = cache.iterdir()
    whole = kept.read_text()
    data = json.loads(whole)
    changed = {
        "deep": "[" * 100_000,
        "short": json.dumps({**data, "word": data["word"][:-1]}),
        "far": json.dumps({**data, "to": [10**6, *data["to"][1:]]}),
    }
    kept.write_text(changed.get(damage, damage))
    assert kept_network(grammar.files[0], grammar.network).arcs == grammar.network().arcs
    assert kept.read_text() == whole


def test_a_changed_grammar_is_built_anew(write: Write, cache: Path) -> None:
    first = write(RULES)
    kept_network(first.files[0], first.network)
    second = write(RULES.replace("far |", "near |"))
    assert "near" in kept_network(second.files[0], second.network).vocabulary
    assert len(list(cache.iterdir())) == 2


def test_what_the_strict_grammar_understands_needs_no_wider_one(network: Network, cache: Path) -> None:
    assert understand("rear door steel forty mil", Region("GB"), network).kind == "damage"
    assert not cache.exists()
    assert understand("it's just below the swage line", Region("GB"), network).values()["place"]
    assert len(list(cache.iterdir())) == 1


def test_a_folder_that_cannot_be_written_to_stops_nothing(
    write: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "file"))
    grammar = write(RULES)
    assert kept_network(grammar.files[0], grammar.network).arcs == grammar.network().arcs
