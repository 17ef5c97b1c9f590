"""Rules from other files: `import`, names with and without their grammar, public and private."""

from __future__ import annotations

from pathlib import Path

import pytest
from writing import Write

from voicelog.grammar import GrammarError, load_grammar

COLOURS = (
    "#JSGF V1.0;\ngrammar colours;\npublic <warm> = red | <pale>;\npublic <cold> = blue;\n<pale> = pink;\n"
)


@pytest.mark.parametrize(
    ("rules", "said"),
    [
        ("import <colours.warm>; public <a> = <warm>;", {"red", "pink"}),
        ("import <colours.*>; public <a> = <warm> | <cold>;", {"red", "pink", "blue"}),
        ("import <colours.*>; public <a> = <colours.cold>;", {"blue"}),
        # Section 3.3 of the Note: no import is needed for a name in full.
        ("public <a> = <colours.cold>;", {"blue"}),
        # Section 3.3: a rule of the own file comes before an imported one.
        ("import <colours.*>; public <a> = <warm>; <warm> = cosy;", {"cosy"}),
        (
            "import <colours.*>; public <a> = <test.warm> <colours.warm>; <warm> = cosy;",
            {"cosy", "red", "pink"},
        ),
    ],
)
def test_imported_rules(write: Write, rules: str, said: set[str]) -> None:
    assert write(rules, colours=COLOURS).network().words() == said


def test_an_imported_rule_keeps_its_name_in_the_tree(write: Write) -> None:
    network = write("import <colours.*>; public <a> = paint <warm>;", colours=COLOURS).network()
    (parse,) = network.match("paint pink")
    assert [(node.rule, node.start, node.end) for node in parse.root.find("pale")] == [("pale", 1, 2)]


def test_packages_and_imports_of_imports(write: Write) -> None:
    network = write(
        "import <com.example.dates.day>; public <a> = on <day>;",
        dates="#JSGF V1.0;\ngrammar com.example.dates;\nimport <numbers.*>;\npublic <day> = day <digit>;",
        numbers="#JSGF V1.0;\ngrammar numbers;\nimport <com.example.dates.*>;\npublic <digit> = one | two;",
    ).network()
    assert network.match("on day two")
    assert not network.match("on two")


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        ("import <colors.*>;\npublic <a> = x;", "test.jsgf:3:8: the imported grammar colors is not there"),
        ("import <colours.warn>;\npublic <a> = x;", "colours has no public rule <warn>, did you mean <warm>"),
        ("import <colours.pale>;\npublic <a> = x;", "colours has no public rule <pale>"),
        ("import <colours.*>;\npublic <a> = <pale>;", "there is no rule <pale>"),
        ("public <a> = <colours.pale>;", "there is no rule <colours.pale>"),
        (
            "import <colours.*>; import <moods.*>;\npublic <a> = <cold>;",
            "4:14: <cold> is imported from two grammars",
        ),
        ("import <misnamed.*>;\npublic <a> = x;", "misnamed.jsgf holds the grammar other, not misnamed"),
    ],
)
def test_imports_that_do_not_fit(write: Write, rules: str, message: str) -> None:
    with pytest.raises(GrammarError) as caught:
        write(
            rules,
            colours=COLOURS,
            moods="#JSGF V1.0;\ngrammar moods;\npublic <cold> = aloof;",
            misnamed="#JSGF V1.0;\ngrammar other;\npublic <b> = x;",
        )
    assert message in str(caught.value)


def test_a_mistake_in_an_imported_file_names_that_file(write: Write) -> None:
    with pytest.raises(GrammarError, match=r"colours\.jsgf:3:15: "):
        write("import <colours.*>; public <a> = x;", colours="#JSGF V1.0;\ngrammar colours;\npublic <b> = (;")


def test_the_hash_covers_every_file_used_and_nothing_else(tmp_path: Path) -> None:
    main = tmp_path / "main.jsgf"
    main.write_text("#JSGF V1.0;\ngrammar main;\nimport <colours.*>;\npublic <a> = <warm>;")
    (tmp_path / "colours.jsgf").write_text(COLOURS)
    first = load_grammar(main).sha256
    (tmp_path / "unused.jsgf").write_text(COLOURS)
    assert load_grammar(main).sha256 == first
    assert len(first) == 64
    (tmp_path / "colours.jsgf").write_text(COLOURS.replace("pink", "rose"))
    assert load_grammar(main).sha256 != first
