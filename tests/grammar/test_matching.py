"""Readings of a sentence: how many, in which order, and at what cost."""

from __future__ import annotations

import math
import time

import pytest
from writing import Write

from voicelog.grammar import Network


def test_every_reading_of_an_ambiguous_sentence_likeliest_first(write: Write) -> None:
    network = write(
        """public <note> = (<width> | <count>)+;
        <width> = /3/ <number> {width} | /1/ <number> mil {width};
        <count> = <number> dents {count} | <number> {count};
        <number> = twenty [two] | two;"""
    ).network()
    readings = [
        tuple((tag.text, tag.start, tag.end) for tag in parse.tags()) for parse in network.match("twenty two")
    ]
    assert len(readings) == len(set(readings)) == 6
    assert readings[0] == (("width", 0, 2),)
    assert {tuple(tag[0] for tag in reading) for reading in readings} == {
        ("width",), ("count",),
        ("width", "width"), ("width", "count"), ("count", "width"), ("count", "count"),
    }  # fmt: skip
    chances = [parse.logprob for parse in network.match("twenty two")]
    assert chances == sorted(chances, reverse=True)
    assert network.match("twenty two", 2) == network.match("twenty two")[:2]


def test_the_chance_of_a_reading_is_the_product_of_its_choices(write: Write) -> None:
    network = write("public <a> = (/3/ x | /1/ y) [z] w*;").network()
    # By hand: 3/4 for x, 1/2 for the optional z, 1/2 for each further round of w, 1/2 for no more.
    (parse,) = network.match("x z w w")
    assert parse.logprob == pytest.approx(math.log(3 / 4 * 1 / 2 * 1 / 2 * 1 / 2 * 1 / 2))


def test_two_ways_to_the_same_reading_are_one_parse(write: Write) -> None:
    network = write("public <a> = x | /3/ (x) | [y] x;".replace("/3/ ", "")).network()
    (parse,) = network.match("x")
    assert parse.logprob == pytest.approx(math.log(1 / 3))


def test_words_may_be_given_as_text_or_list(write: Write) -> None:
    network = write("public <a> = x y;").network()
    assert network.match("  x   y ") == network.match(["x", "y"]) == network.match(("x", "y")) != []


def test_where_a_sentence_stops(write: Write) -> None:
    network = write("public <a> = (door | roof) [rear] [left] | forty (mil | inches);").network()
    stop = network.stop("forty left")
    assert stop is not None
    assert (stop.index, stop.expected) == (1, ("inches", "mil"))
    stop = network.stop("forty")
    assert stop is not None
    assert (stop.index, stop.expected) == (1, ("inches", "mil"))
    stop = network.stop("dore left")
    assert stop is not None
    assert (stop.index, stop.expected) == (0, ("door", "forty", "roof"))
    assert network.stop("door left") is None
    stop = network.stop("door left rear")
    assert stop is not None
    assert (stop.index, stop.expected) == (2, ())


DIGITS = "one | two | three | four | five | six | seven | eight | nine"
TENS = "twenty | thirty | forty | fifty | sixty | seventy | eighty | ninety"
SLOTS = "".join(
    f"<slot{place}> = word{place} <number> {{s{place}}} | <number> unit{place} {{s{place}}} | tail{place};\n"
    for place in range(15)
)
MANY = (
    f"public <note> = ({' | '.join(f'<slot{place}>' for place in range(15))})+;\n{SLOTS}"
    f"<digit> = {DIGITS};\n<tens> = {TENS};\n"
    "<small> = <digit> | ten | eleven | twelve | <tens> [<digit>] | <digit> <digit>;\n"
    "<number> = <small> | <digit> hundred [[and] <small>]\n"
    "  | <small> thousand [<digit> hundred] [[and] <small>];\n"
)


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Network:
    from voicelog.grammar import load_grammar

    path = tmp_path_factory.mktemp("many") / "test.jsgf"
    path.write_text(f"#JSGF V1.0;\ngrammar test;\n{MANY}")
    return load_grammar(path).network()


def test_a_large_any_order_loop_is_matched_in_time_linear_in_the_words(many: Network) -> None:
    assert len(many.arcs) > 3000
    sentence = [
        "word1",
        "forty",
        "five",
        "tail2",
        "two",
        "hundred",
        "and",
        "six",
        "unit3",
        "word4",
        "nine",
        "thousand",
        "word5",
        "eight",
    ]

    def cost(rounds: int) -> float:
        many.match(sentence * rounds, 1)
        times = []
        for _ in range(5):
            start = time.process_time()
            assert many.match(sentence * rounds, 1)
            times.append(time.process_time() - start)
        return min(times)

    # Eight times as many words; a walk that tried the same state twice would double with every word.
    assert cost(16) < 40 * max(cost(2), 1e-4)


def test_ambiguity_does_not_multiply(write: Write) -> None:
    # 2 ** 40 readings: each word by either rule.
    network = write("public <s> = (<a> | <b>)*; <a> = x {a}; <b> = x {b};").network()
    start = time.process_time()
    parses = network.match("x " * 40)
    assert time.process_time() - start < 2
    assert len(parses) == 12
    assert len({parse.tags() for parse in parses}) == 12


def test_the_search_network_of_a_large_loop_stays_small(many: Network) -> None:
    lines = many.fsg().splitlines()
    silent = sum(len(line.split()) == 4 for line in lines[4:-1])
    assert len(lines) < sum(map(len, many.arcs)) / 2
    # One way back to the top of the loop for each state in which a slot may be complete, no more.
    assert silent < int(lines[1].split()[1])
