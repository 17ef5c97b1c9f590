"""The examples of the JSpeech Grammar Format, W3C Note of 5 June 2000 (https://www.w3.org/TR/jsgf/).

The rules are written down from memory of the Note, section numbers beside them.
"""

from __future__ import annotations

import pytest
from searching import Fsg
from writing import Write

from voicelog.grammar import GrammarError

POLITENESS = """#JSGF V1.0;
grammar com.acme.politeness;
// Body
public <startPolite> = (please | kindly | could you | oh mighty computer) *;
public <endPolite> = [ please | thanks | thank you ];
"""

COMMANDS = """
import <com.acme.politeness.startPolite>;
import <com.acme.politeness.endPolite>;

public <basicCmd> = <startPolite> <command> <endPolite>;

<command> = <action> <object>;
<action> = /10/ open |/2/ close |/1/ delete |/1/ move;
<object> = [the | a] (window | file | menu);
"""


def test_section_5_1_commands_with_imported_politeness(write: Write) -> None:
    network = write(
        COMMANDS, header="#JSGF V1.0 ISO8859-1 en;\ngrammar com.acme.commands;\n", politeness=POLITENESS
    ).network()
    for said in (
        "open a file",
        "oh mighty computer please open a menu",
        "could you please move the window thank you",
        "delete menu",
    ):
        assert network.match(said), said
    for not_said in ("open", "please", "open a the file", "thanks open a file", "open a file thank"):
        assert not network.match(not_said), not_said
    chances = {action: network.match(f"{action} file")[0].logprob for action in ("open", "close", "move")}
    assert chances["open"] > chances["close"] > chances["move"]


def test_section_4_6_tags_of_words_groups_and_several_on_one_way(write: Write) -> None:
    network = write(
        """public <action> = please {COURTESY} (open {OPEN} | close {CLOSE} | move {MOVE});
        public <country> = Australia {Oz} | (United States) {USA} | America {USA} | (U S of A) {USA};"""
    ).network()

    def tags(said: str) -> list[tuple[str, int, int]]:
        (parse,) = network.match(said)
        return [(tag.text, tag.start, tag.end) for tag in parse.tags()]

    assert tags("please open") == [("COURTESY", 0, 1), ("OPEN", 1, 2)]
    assert tags("Australia") == [("Oz", 0, 1)]
    assert tags("United States") == [("USA", 0, 2)]
    assert tags("U S of A") == [("USA", 0, 4)]


@pytest.mark.parametrize(
    ("rule", "grouped"),
    [
        # Section 4.7: the order in which operators bind.
        ("please open | kindly close", "(please open) | (kindly close)"),
        ("very* good", "(very*) good"),
        ("very good+", "very (good+)"),
        ("[not] at all | <NULL>", "([not] at all) | <NULL>"),
    ],
)
def test_section_4_7_precedence(write: Write, rule: str, grouped: str) -> None:
    network = write(f"public <a> = {rule};").network()
    same = write(f"public <a> = {grouped};").network()
    assert Fsg(network.fsg()).accepts([]) == Fsg(same.fsg()).accepts([])
    words = sorted(network.words())
    for sentence in (
        [*first, *second, *third]
        for first in _some(words)
        for second in _some(words)
        for third in _some(words)
    ):
        assert bool(network.match(sentence)) == bool(same.match(sentence)), sentence


def _some(words: list[str]) -> list[list[str]]:
    return [[], *([word] for word in words)]


def test_section_4_8_right_recursion_is_allowed_left_recursion_is_not(write: Write) -> None:
    network = write(
        "public <command> = <action> | (<action> and <command>);\n"
        "<action> = stop | start | pause | resume | finish;"
    ).network()
    assert network.match("stop")
    assert network.match("stop and start and pause and finish")
    assert not network.match("stop and")
    with pytest.raises(GrammarError):
        write("public <command> = <action> | (<command> and <action>);\n<action> = stop | start;").network()


def test_section_4_8_the_same_language_without_recursion(write: Write) -> None:
    recursive = write("public <c> = <a> | (<a> and <c>);\n<a> = stop | start;").network()
    star = write("public <c> = <a> (and <a>)*;\n<a> = stop | start;").network()
    ones, others = Fsg(recursive.fsg()), Fsg(star.fsg())
    words = ["stop", "start", "and"]
    for first in words:
        for second in words:
            for third in words:
                said = [first, second, third]
                assert ones.accepts(said) == others.accepts(said) == bool(star.match(said)), said


def test_section_4_9_null_is_said_by_silence_and_void_never(write: Write) -> None:
    network = write("public <a> = hello <NULL> world | hello <VOID> moon;").network()
    assert network.match("hello world")
    assert not network.match("hello moon")


def test_section_4_10_documentation_comments(write: Write) -> None:
    grammar = write(
        """
        /**
         * Zero or more polite words.
         *
         * @example please
         * @example oh mighty computer
         */
        public <polite> = (please | oh mighty computer)*;
        """
    )
    (rule,) = grammar.rules.values()
    assert rule.doc == "Zero or more polite words.\n\n@example please\n@example oh mighty computer"
