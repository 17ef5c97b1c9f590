"""Pronunciations against the CMU dictionary that PocketSphinx carries, and broken files."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicelog.errors import VoicelogError
from voicelog.grammar import load_grammar
from voicelog.recognition.lexicon import (
    PHONE_SET,
    check_phones,
    merged,
    missing_words,
    read_lexicon,
    write_dictionary,
)

GRAMMARS = Path(__file__).parents[2] / "grammars"
pocketsphinx = pytest.importorskip("pocketsphinx")
CMU = Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"


def test_every_word_of_our_grammar_can_be_said() -> None:
    words = load_grammar(GRAMMARS / "voicelog.jsgf").network().words()
    own = read_lexicon(CMU, words)
    trade = read_lexicon(GRAMMARS / "trade.dict")
    check_phones(trade, PHONE_SET, "trade.dict")
    assert missing_words(words, merged(own, trade)) == []
    assert "swage" not in own  # the CMU dictionary lacks it, so our own entry is needed


def test_phones_are_those_of_the_model_s_own_dictionary() -> None:
    used = {phone for entry in read_lexicon(CMU).values() for phones in entry for phone in phones}
    assert used == PHONE_SET


def test_numbered_entries_comments_and_capitals(tmp_path: Path) -> None:
    path = tmp_path / "x.dict"
    path.write_text("# ours\n;;; theirs\nHalf HH AE F\nhalf(2)\tHH AA F # British\nhalf(3) HH AA F\n")
    assert read_lexicon(path) == {"half": [("HH", "AE", "F"), ("HH", "AA", "F")]}
    write_dictionary(read_lexicon(path), path)
    assert path.read_text() == "half HH AE F\nhalf(2) HH AA F\n"


def test_errors_name_file_line_and_all_wrong_phones(tmp_path: Path) -> None:
    path = tmp_path / "x.dict"
    path.write_text("half HH AE F\nmil\n")
    with pytest.raises(VoicelogError, match=r"x\.dict:2: \"mil\" has no phones"):
        read_lexicon(path)
    with pytest.raises(VoicelogError, match="cannot be read"):
        read_lexicon(tmp_path / "none.dict")
    with pytest.raises(VoicelogError, match=r"AE1 \(in a\), QQ \(in b\)"):
        check_phones({"a": [("AE1",)], "b": [("QQ", "B")]}, PHONE_SET, "x.dict")
