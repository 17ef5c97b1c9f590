"""The language files as a whole: against the vocabulary, against themselves, and covered by sentences."""

from __future__ import annotations

import random
import tomllib
from collections import defaultdict
from pathlib import Path

import pytest
from contradictions import share
from hypothesis import given, settings
from hypothesis import strategies as st
from workshop_table import GRAMMAR, sentences

from voicelog.grammar import Grammar, Network, load_grammar
from voicelog.meaning.fill_slots import ordered
from voicelog.meaning.region import Region
from voicelog.meaning.spelling import stems
from voicelog.meaning.tags_to_values import STEERING, said_in
from voicelog.meaning.understand import understand
from voicelog.vocabulary import CHOICES, FLAGS, LISTS, NUMBERS, SPELLED, TEXTS

EXTRA = Path(__file__).with_name("sentences.toml")
GB = Region("GB")

FREE = [
    "restore dent one", "vin alfa one", "pull three twenty mil tab", "was there before", "declined that",
    "took forty minutes", "warmed it with the heat gun", "hot glue, two pulls", "oversize", "he's paid",
    "technician is bryn", "make is halden", "model's a brisk", "insurer is larkfield", "memo ring back",
    "roof below the handle", "colour blue", "customer is hallam", "agreed price fifty", "deposit fifty",
    "excess fifty", "mileage fifty", "year twenty nineteen", "phone oh seven seven", "claim one two",
    "policy one two", "order one two", "stock one two",
]  # fmt: skip

# Tags that are no slot: kinds, the arithmetic of numbers, and words that steer how a value is read.
INNER = {
    "kind", "digit", "teen", "ty", "double", "hundred", "thousand", "dozen", "point", "part", "unit",
    "times", "count", "coin", "width", "long", "label", "oops", "again", "spot", "act", "id", "letter",
    "number", "text", "spelled", "amount", "mended", "last", "kept", "hour", "hours", "implied_end",
    "tally",
}  # fmt: skip


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(GRAMMAR)


@pytest.fixture(scope="module")
def tags(network: Network) -> dict[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for sample in network.cover():
        for tag in sample.tags:
            name, _, value = tag.text.partition("=")
            found[name].add(value)
    return found


def test_every_value_of_the_vocabulary_can_be_said_and_no_other(tags: dict[str, set[str]]) -> None:
    spoken = {name: values for name, values in tags.items() if name not in INNER and name not in FLAGS}
    assert spoken["side"] == {"left", "right", "nearside", "offside", "driver", "passenger"}
    del spoken["side"]
    spoken["by"].discard("")  # "forty five by thirty mil"
    expected = {name: set(values) for name, values in CHOICES.items() if name != "side"}
    assert spoken == expected


def test_every_kind_can_be_said(tags: dict[str, set[str]]) -> None:
    assert tags["kind"] == {
        "damage", "reading", "step", "time", "job", "told", "correction", "undo", "answer", "question",
        "control",
    }  # fmt: skip


def test_every_flag_number_and_text_can_be_said(network: Network) -> None:
    reached = set()
    for sentence in [*spoken_sentences(), *FREE]:
        note = understand(sentence, GB, network)
        for one in (note, *note.further):
            reached |= set(one.slots)
    assert reached >= FLAGS | NUMBERS | TEXTS | SPELLED


def spoken_sentences() -> list[str]:
    extra = tomllib.loads(EXTRA.read_text(encoding="utf-8"))["sentences"]
    return [*(str(sentence["say"]) for sentence in sentences()), *map(str, extra)]


def test_every_alternative_is_hit_by_a_test_sentence(network: Network) -> None:
    used: set[str] = set()
    for sentence in spoken_sentences():
        note = understand(sentence, GB, network)
        for parse in network.match(stems(note.words.split(), network.vocabulary), 100):
            used |= set(parse.alternatives_used)
    missed = sorted(set(network.alternatives()) - used)
    assert not missed, "no test sentence takes these alternatives:\n" + "\n".join(missed)


@settings(max_examples=300, deadline=None)
@given(st.integers(min_value=0))
def test_a_sampled_sentence_parses_to_the_tags_it_was_sampled_from(network: Network, seed: int) -> None:
    sample = network.sample(random.Random(seed), 20)
    roots = [parse.root for parse in network.match(sample.words, 200)]
    assert sample.parse.root in roots


@settings(max_examples=300, deadline=None)
@given(st.integers(min_value=0))
def test_a_sampled_sentence_means_what_its_tags_say_or_is_asked_about(network: Network, seed: int) -> None:
    sample = network.sample(random.Random(seed), 20)
    note = understand(" ".join(sample.words), GB, network)
    assert note.kind != "none"
    if note.troubles or any(not slot.confirmed for slot in note.slots.values()):
        return
    said: dict[str, object] = {}
    corrected = False
    for item in said_in(sample.parse.root, sample.words, GB):
        corrected = corrected or item.slot in STEERING
        earlier = said.get(item.slot, ())
        said[item.slot] = (
            ordered(item.slot, (*earlier, str(item.value))) if item.slot in LISTS else item.value
        )  # type: ignore[misc]
    if "mileage" in said and {"kilometres", "kays", "k"} & set(sample.words):
        said["mileage"] = round(said["mileage"] / 1.609344)  # type: ignore[operator]  # statute mile, in km
    if not corrected and len(network.match(sample.words, 50)) == 1 and said.get("panel") != "wing":
        assert said == {name: slot.value for name, slot in note.slots.items()}


def test_the_wake_phrase_is_a_language_of_its_own(network: Network) -> None:
    wake = load_grammar(GRAMMAR.with_name("wake.jsgf")).network()
    assert [str(phrase.words) for phrase in wake.cover()] == ["('start', 'listening')"]
    assert understand("start listening", GB, wake).values() == {"control": "wake"}
    assert understand("start listening", GB, network).values() == {"control": "wake"}
    assert understand("start work", GB, wake).kind == "none"


@pytest.mark.parametrize(
    ("said", "slot", "values"),
    [
        ("paint broken on the edge front wing", "features", ("edge", "paint-broken")),
        ("bonnet double skin nineteen mil crown high brace", "features", ("double-skin", "brace")),
        ("rear door body line no sorry edge brace", "features", ("edge", "brace")),
        ("bumper off rear wing tail light off", "take_off", ("tail-light", "bumper")),
        ("crease may show steel texture may show", "risk", ("crease-may-show", "texture")),
    ],
)
def test_a_list_takes_several_values_in_one_note(
    network: Network, said: str, slot: str, values: tuple[str, ...]
) -> None:
    assert network.match(said)
    assert understand(said, GB, network).slots[slot].value == values


def test_a_note_takes_one_material_and_no_feature_twice(network: Network) -> None:
    assert not network.match("steel door aluminium")
    assert not network.match("edge door edge")
    assert not network.match("edge and edge")


def test_every_rule_has_a_title_for_the_card(grammar: Grammar) -> None:
    untitled = [name for name, rule in grammar.rules.items() if rule.public and not rule.doc.strip()]
    assert not untitled


def test_the_network_stays_small(network: Network) -> None:
    # The recogniser searches it for every frame of sound; today's size with a little air.
    assert len(network.automaton.arcs) < 1700
    assert sum(map(len, network.automaton.arcs)) < 13500
    assert len(network.words()) < 620


def test_hardly_any_sentence_contradicts_itself(network: Network) -> None:
    assert share(network) <= 0.02
