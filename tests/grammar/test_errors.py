"""A grammar that is wrong is refused in one line that names file, line, column and what was expected."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from writing import Write

from voicelog.grammar import GrammarError, load_grammar


@pytest.mark.parametrize(
    ("rules", "place", "words"),
    [
        ("public <a> = ;", "3:14", ['found ";"', "a word", "a rule such as <name>", '"("', '"["']),
        ("public <a> = x", "3:15", ["the file ends here", '";"', '"|"']),
        ("public <a> = x | ;", "3:18", ['found ";"', "a word"]),
        ("public <a> = (x ;", "3:17", ['found ";"', '")"']),
        ("public <a> = [x) ;", "3:16", ['found ")"', '"]"']),
        ("public <a> x;", "3:12", ['expected "="']),
        ("<a> = x;\npublik <b> = y;", "4:1", ['found "publik"', '"public"', '"import"']),
        ("public <a> = x {open;", "3:16", ['no closing "}"']),
        ("public <a> = x {open;\n<b> = y {c};", "3:16", ['no closing "}"']),
        ('public <a> = "x;', "3:14", ["no closing quote"]),
        ("public <a> = x; /* open", "3:17", ['no closing "*/"']),
        ("public <a> = /much/ x;", "3:14", ["no weight", "a number between two slashes"]),
        ("public <a> = and/or;", "3:17", ["no weight"]),
        ('public <a> = " ";', "3:14", ["no word between these quotes"]),
        ("public <a> = x;\n<NULL> = y;", "4:1", ["cannot be defined"]),
        ("import <plain>;\npublic <a> = x;", "3:8", ["<grammar.rule>"]),
        ("public <a> = x;\nimport <b.c>;\n<d> = é\\;", "5:8", ["found"]),
    ],
)
def test_a_mistake_is_shown_where_it_stands(write: Write, rules: str, place: str, words: list[str]) -> None:
    with pytest.raises(GrammarError) as caught:
        write(rules)
    line = str(caught.value)
    assert f"test.jsgf:{place}: " in line
    assert [word for word in words if word not in line] == []
    assert "\n" not in line


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("grammar a; public <a> = x;", 'a.jsgf:1:1: expected the header "#JSGF V1.0;"'),
        ("#JSGF V1.0;\npublic <a> = x;", 'a.jsgf:2:1: found "public", expected "grammar"'),
        ("#JSGF V1.0;\ngrammar a;\n<a> = x;", "no public rule"),
        ("", "expected the header"),
    ],
)
def test_a_file_that_is_no_grammar(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "a.jsgf"
    path.write_text(text)
    with pytest.raises(GrammarError) as caught:
        load_grammar(path)
    assert words in str(caught.value)


def test_a_file_that_is_not_there_or_not_in_its_encoding(tmp_path: Path) -> None:
    with pytest.raises(GrammarError, match="cannot be read"):
        load_grammar(tmp_path / "none.jsgf")
    path = tmp_path / "a.jsgf"
    path.write_bytes("#JSGF V1.0;\ngrammar a; public <a> = ü;".encode("latin-1"))
    with pytest.raises(GrammarError, match="not utf-8"):
        load_grammar(path)
    path.write_bytes(b"#JSGF V1.0 klingon;\ngrammar a; public <a> = x;")
    with pytest.raises(GrammarError, match="not klingon"):
        load_grammar(path)


def test_all_missing_rules_are_told_together_with_the_nearest_names(write: Write) -> None:
    with pytest.raises(GrammarError) as caught:
        write("public <a> = <matrial>\n  <depht> <xyz>;\n<material> = x; <depth> = y;")
    line = str(caught.value)
    assert "test.jsgf:3:14: there is no rule <matrial>, did you mean <material>" in line
    assert "test.jsgf:4:3: there is no rule <depht>, did you mean <depth>" in line
    assert "test.jsgf:4:11: there is no rule <xyz>" in line


def test_a_rule_defined_twice_is_refused(write: Write) -> None:
    with pytest.raises(GrammarError, match=r"test\.jsgf:4: <b> is defined in line 3 already"):
        write("public <a> = <b>; <b> = x;\n<b> = y;")


@pytest.mark.parametrize(
    "rules",
    [
        "public <a> = <a> x | y;",
        "public <a> = x <a> y | z;",
        "public <a> = x <b>; <b> = y <c> z | w; <c> = <b>;",
        "public <a> = (x <a>)* y;",
        "public <a> = x <a> {tag} | y;",
    ],
)
def test_recursion_that_no_finite_network_holds_is_refused(write: Write, rules: str) -> None:
    grammar = write(rules)
    with pytest.raises(GrammarError, match=r"test\.jsgf:3:\d+: <.+> refers to itself other than at its end"):
        grammar.network()


@pytest.mark.parametrize("rules", ["public <a> = x <a>;", "public <a> = x; <b> = y <c>; <c> = z <b> | <b>;"])
def test_recursion_without_an_end_is_refused(write: Write, rules: str) -> None:
    with pytest.raises(GrammarError, match="never ends"):
        write(rules)


def test_nothing_can_be_drawn_from_a_language_without_sentences(write: Write) -> None:
    network = write("public <a> = x <VOID>;").network()
    assert network.match("x") == []
    assert network.words() == frozenset()
    assert network.alternatives() == ()
    assert network.cover() == []
    for draw in (lambda: network.sample(random.Random(1)), network.fsg):
        with pytest.raises(GrammarError, match="no sentence can be said"):
            draw()


@pytest.mark.parametrize(
    "rules",
    [
        "public <a> = " + "(" * 2000 + "x" + ")" * 2000 + ";",
        "public <a> = <r0>;" + "".join(f"<r{n}> = <r{n + 1}>;" for n in range(2000)) + "<r2000> = x;",
    ],
)
def test_nesting_without_measure_is_refused_in_words(write: Write, rules: str) -> None:
    with pytest.raises(GrammarError, match=r"test\.jsgf.*nested too deeply"):
        write(rules).network()


def test_rules_that_multiply_are_refused(write: Write, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("voicelog.grammar.network.MOST_STATES", 1000)
    rules = "".join(f"<r{n}> = <r{n + 1}> | y <r{n + 1}>;" for n in range(12))
    with pytest.raises(GrammarError, match="more than 1,000 states"):
        write(f"public <a> = <r0>; {rules} <r12> = x;").network()


def test_a_long_row_of_optional_words_is_no_nesting(write: Write) -> None:
    network = write("public <a> = " + "[x] " * 1500 + "y;").network()
    assert network.match("y", 1)
    assert not network.match("x")


def test_an_unknown_rule_has_no_network(write: Write) -> None:
    with pytest.raises(GrammarError, match="there is no rule <z>"):
        write("public <a> = x;").network("z")
