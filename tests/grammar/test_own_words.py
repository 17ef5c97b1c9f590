"""A user's own word is one more alternative where its value stands, with all that goes with the value."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicelog.grammar import OwnWord, load_grammar

GRAMMAR = """#JSGF V1.0;
grammar small;
public <note> = (<colour> | <thing> [<colour>])+;
<colour> = [very] (/3/ red | crimson) {once=colour} {colour=red} | blue {colour=blue};
<thing> = double skin {thing=skin} | big (red {other=red} | old) box {thing=box};
"""


def own(phrase: str, tag: str) -> OwnWord:
    return OwnWord(phrase, tag, (tag,))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "small.jsgf"
    path.write_text(GRAMMAR)
    return path


def tags(path: Path, words: str, *added: OwnWord) -> list[list[str]]:
    return [
        [tag.text for tag in parse.root.all_tags()]
        for parse in load_grammar(path, added).network().match(words)
    ]


def test_it_means_what_its_value_means_and_takes_the_words_around_it(path: Path) -> None:
    for words in ("ruby", "very ruby", "double skin ruby"):
        assert tags(path, words) == []
    assert tags(path, "ruby", own("ruby", "colour=red")) == [["colour=red"]]
    assert tags(path, "very ruby", own("ruby", "colour=red")) == [["colour=red"]]
    assert tags(path, "double skin ruby", own("ruby", "colour=red")) == [["thing=skin", "colour=red"]]


def test_it_is_said_once_where_its_value_is(path: Path) -> None:
    assert tags(path, "ruby crimson", own("ruby", "colour=red")) == []


def test_it_stands_for_all_words_of_its_value(path: Path) -> None:
    assert tags(path, "bilayer", own("bilayer", "thing=skin")) == [["thing=skin"]]
    assert tags(path, "double bilayer", own("bilayer", "thing=skin")) == []


def test_what_means_something_already_is_left_out(path: Path) -> None:
    grammar = load_grammar(path, (own("crimson", "colour=blue"), own("double skin", "colour=blue")))
    assert grammar.left_out == ("crimson", "double skin")
    assert tags(path, "crimson", own("crimson", "colour=blue")) == [["colour=red"]]


def test_the_hash_tells_grammars_with_other_words_apart(path: Path) -> None:
    hashes = {
        load_grammar(path, words).sha256 for words in ((), (own("a", "thing=box"),), (own("b", "thing=box"),))
    }
    assert len(hashes) == 3
