"""Every construct of JSGF 1.0, read from text and seen through what it lets a person say.

The syntax is that of the W3C Note "JSpeech Grammar Format" of 5 June 2000, section numbers from
memory.
"""

from __future__ import annotations

import codecs
import random
from pathlib import Path

import pytest
from writing import Write

from voicelog.grammar import Network, load_grammar


def tags(network: Network, sentence: str) -> list[tuple[str, int, int]]:
    """Tags of the one parse of a sentence."""
    (parse,) = network.match(sentence)
    return [(tag.text, tag.start, tag.end) for tag in parse.tags()]


@pytest.mark.parametrize(
    ("rules", "said", "not_said"),
    [
        ("public <a> = x y;", ["x y"], ["", "x", "y", "x y x"]),
        ("public <a> = x | y z;", ["x", "y z"], ["y", "x y"]),
        ("public <a> = (x | y) z;", ["x z", "y z"], ["x", "z", "x y z"]),
        ("public <a> = x | y z | w;", ["x", "y z", "w"], ["x z"]),
        ("public <a> = [x] y;", ["y", "x y"], ["x", "x x y"]),
        ("public <a> = x*;", ["", "x", "x x x x"], ["y"]),
        ("public <a> = x+;", ["x", "x x x"], [""]),
        ("public <a> = x y*;", ["x", "x y y"], ["x y x"]),
        ("public <a> = (x y)+;", ["x y", "x y x y"], ["x", "x y x"]),
        ("public <a> = [x | y]+ z;", ["z", "x y x z"], ["x"]),
        ("public <a> = ((x*)*)+;", ["", "x x"], ["y"]),
        ("public <a> = ([x] [y])* z;", ["z", "x z", "y x y z"], ["x"]),
        ("public <a> = <NULL>;", [""], ["x"]),
        ("public <a> = x <NULL> y;", ["x y"], ["x"]),
        ("public <a> = x | <VOID> y;", ["x"], ["y", ""]),
        ("public <a> = /0/ x | /2/ y;", ["y"], ["x"]),
        ('public <a> = "x" | "don\'t" | "a|b;" | "say \\"x\\"";', ["x", "don't", "a|b;", 'say "x"'], ["a"]),
        ('public <a> = "New York";', ["New York"], ["New"]),
        ("public <a> = <b> <b>; <b> = x | y;", ["x y", "y y"], ["x"]),
        ("public <a> = public grammar import;", ["public grammar import"], ["public"]),
        ("public <a> = x; public <b> = y;", ["x", "y"], ["x y"]),
        ("public <a> = größe | 大きい;", ["größe", "大きい"], ["grosse"]),
        ("public <a-1_$ü> = it's | co-op.;", ["it's", "co-op."], ["its"]),
        ("public<a>=x|(y)[z];", ["x", "y", "y z"], ["z"]),
    ],
)
def test_what_a_rule_lets_be_said(write: Write, rules: str, said: list[str], not_said: list[str]) -> None:
    network = write(rules).network()
    assert [sentence for sentence in said if not network.match(sentence)] == []
    assert [sentence for sentence in not_said if network.match(sentence)] == []


@pytest.mark.parametrize(
    ("rules", "sentence", "expected"),
    [
        ("public <a> = x {one};", "x", [("one", 0, 1)]),
        ("public <a> = x {one} {two};", "x", [("one", 0, 1), ("two", 0, 1)]),
        ("public <a> = x y {one};", "x y", [("one", 1, 2)]),
        ("public <a> = (x y) {one};", "x y", [("one", 0, 2)]),
        ("public <a> = w ([x] y+) {one} z;", "w x y y z", [("one", 1, 4)]),
        ("public <a> = x* {one};", "x x", [("one", 0, 2)]),
        ("public <a> = (x {one} | y {two})+;", "y x", [("two", 0, 1), ("one", 1, 2)]),
        ("public <a> = (x {in} y) {out};", "x y", [("in", 0, 1), ("out", 0, 2)]),
        ("public <a> = <NULL> {none} x;", "x", [("none", 0, 0)]),
        ("public <a> = [x] {maybe} y;", "y", [("maybe", 0, 0)]),
        ("public <a> = <b> {ref}; <b> = x {own};", "x", [("own", 0, 1), ("ref", 0, 1)]),
        ("public <a> = x {panel=quarter.rear};", "x", [("panel=quarter.rear", 0, 1)]),
        ("public <a> = x {a \\} b \\\\ c};", "x", [("a } b \\ c", 0, 1)]),
        ("public <a> = x { f({\\}) };", "x", [("f({})", 0, 1)]),
        ("public <a> = (w (x y) {in}) {out};", "w x y", [("in", 1, 3), ("out", 0, 3)]),
        ("public <a> = x { $.v = 'ü' // no comment };", "x", [("$.v = 'ü' // no comment", 0, 1)]),
        ("public <a> = x {two\nlines};", "x", [("two\nlines", 0, 1)]),
        ("public <a> = x {};", "x", [("", 0, 1)]),
    ],
)
def test_tags_and_the_words_they_stand_on(
    write: Write, rules: str, sentence: str, expected: list[tuple[str, int, int]]
) -> None:
    assert tags(write(rules).network(), sentence) == expected


def test_the_tree_holds_rules_with_their_spans_and_own_tags(write: Write) -> None:
    network = write("public <a> = w <b> <c>; <b> = x {one} <c>; <c> = y {two};").network()
    (parse,) = network.match("w x y y")
    root = parse.root
    assert (root.rule, root.start, root.end, root.tags) == ("a", 0, 4, ())
    assert [(node.rule, node.start, node.end) for node in root.children] == [("b", 1, 3), ("c", 3, 4)]
    assert [(node.start, node.end) for node in root.find("c")] == [(2, 3), (3, 4)]
    assert [tag.text for tag in root.children[0].tags] == ["one"]
    assert [tag.text for tag in root.children[0].all_tags()] == ["one", "two"]


def test_comments_are_skipped_but_not_within_tags_and_quotes(write: Write) -> None:
    rules = (
        '// public <z> = z;\npublic <a> = /* no */ x // "\n | y {/* tag */} /**/ | "//w" /** doc */ ;\n// end'
    )
    network = write(rules).network()
    assert network.words() == {"x", "y", "//w"}
    assert tags(network, "y") == [("/* tag */", 0, 1)]


def test_doc_comments_belong_to_the_rule_that_follows(write: Write) -> None:
    grammar = write(
        """/** Of nothing */ /**
         * First line:
         *   "an example"
         * @example x y
         */
        public <a> = /** inside */ x <b> <c> <d>;
        /* plain */ <b> = y;
        /** Old */ // with a remark
        <c> = z;
        <d> = w; /** at the end */"""
    )
    docs = {rule.name: rule.doc for rule in grammar.rules.values()}
    assert docs == {"a": 'First line:\n"an example"\n@example x y', "b": "", "c": "Old", "d": ""}


@pytest.mark.parametrize(
    "header", ["#JSGF V1.0;", "#JSGF V1.0 UTF-8;", "#JSGF V1.0 UTF-8 en;", "#JSGF  V1.0 ;"]
)
def test_the_header_may_name_encoding_and_locale(write: Write, header: str) -> None:
    assert write("public <a> = ü;", header=f"{header}\ngrammar test;\n").network().match("ü")


@pytest.mark.parametrize(
    ("encoding", "declared", "mark"),
    [
        ("iso8859-5", "ISO8859-5", b""),
        ("utf-8", "", codecs.BOM_UTF8),
        ("utf-16-le", "UTF-16", codecs.BOM_UTF16_LE),
        ("utf-16-be", "UTF-16", codecs.BOM_UTF16_BE),
    ],
)
def test_a_file_is_read_in_the_encoding_it_names(
    tmp_path: Path, encoding: str, declared: str, mark: bytes
) -> None:
    path = tmp_path / "a.jsgf"
    path.write_bytes(mark + f"#JSGF V1.0 {declared};\ngrammar a; public <a> = дверь;".encode(encoding))
    assert load_grammar(path).network().words() == {"дверь"}


def test_weights_are_shares_of_their_sum(write: Write) -> None:
    network = write("public <a> = /3/ x | /.5e0/ y | / 0.5 / z;").network()
    rng = random.Random(7)
    counts = dict.fromkeys("xyz", 0)
    for _ in range(4000):
        counts[network.sample(rng).words[0]] += 1
    # Standard error of the share 0.75 over 4,000 draws is 0.007; five of them are allowed.
    assert counts["x"] / 4000 == pytest.approx(0.75, abs=0.035)
    assert counts["y"] / 4000 == pytest.approx(0.125, abs=0.027)
    drawn = [network.sample(rng, uniform=True).words[0] for _ in range(3000)]
    assert drawn.count("y") / 3000 == pytest.approx(1 / 3, abs=0.045)


@pytest.mark.parametrize(
    ("rules", "said", "not_said"),
    [
        ("public <a> = x <a> | y;", ["y", "x x y"], ["x", "x x"]),
        ("public <a> = x [<a>];", ["x", "x x x"], [""]),
        ("public <a> = x (y | <a>) <NULL>;", ["x y", "x x y"], ["x"]),
        ("public <a> = x <b> | z; <b> = y <a> | w;", ["z", "x w", "x y z", "x y x y x w"], ["x y", "x z"]),
        ("public <s> = <a> end; <a> = x <a> | <NULL>;", ["end", "x x end"], ["x"]),
    ],
)
def test_right_recursion_is_a_loop(write: Write, rules: str, said: list[str], not_said: list[str]) -> None:
    network = write(rules).network()
    assert [sentence for sentence in said if not network.match(sentence)] == []
    assert [sentence for sentence in not_said if network.match(sentence)] == []


def test_the_network_of_one_rule(write: Write) -> None:
    grammar = write("public <a> = x <b>; <b> = y | z;")
    assert [network.match("y") != [] for network in (grammar.network(), grammar.network("b"))] == [
        False,
        True,
    ]
    assert grammar.network("test.b").match("z")[0].root.rule == "b"


def test_alternatives_have_names_and_parses_tell_which_they_took(write: Write) -> None:
    network = write("public <a> = x | /2/ <b>\n | /0/ never\n;\n<b> = (y {t}\n | z w);").network()
    assert set(network.alternatives()) == {
        "test.jsgf:3: x", "test.jsgf:3: /2/ <b>", "test.jsgf:6: (y {t} | z w)", "test.jsgf:6: y {t}",
        "test.jsgf:7: z w",
    }  # fmt: skip
    (parse,) = network.match("z w")
    assert set(parse.alternatives_used) == {
        "test.jsgf:3: /2/ <b>", "test.jsgf:6: (y {t} | z w)", "test.jsgf:7: z w",
    }  # fmt: skip
