"""Rehearsal and teaching: alignment against jiwer, and one word taught for real."""

from __future__ import annotations

from pathlib import Path

import jiwer
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.listening import Recording, Samples
from voicelog.recognition.open import open_engine
from voicelog.recognition.rehearsal import align, rehearse, score
from voicelog.recognition.teach import PhoneDecoder, Phones, add_to_lexicon, propose, teach

WORDS = st.lists(st.sampled_from(["door", "wing", "roof", "ten", "mil", "push"]), min_size=1, max_size=8).map(
    " ".join
)


@settings(deadline=None, max_examples=150)
@given(st.lists(st.tuples(WORDS, WORDS), min_size=1, max_size=5))
def test_words_right_is_one_minus_the_word_error_rate_of_jiwer(pairs: list[tuple[str, str]]) -> None:
    expected, heard = [list(column) for column in zip(*pairs, strict=True)]
    rate = jiwer.wer(expected, heard)
    assume(rate <= 1.0)
    sounds = dict(enumerate(heard))
    report = score(
        ((words, np.array([i], np.int16)) for i, words in enumerate(expected)),
        lambda sound: sounds[int(sound[0])],
    )
    assert report.words_right == pytest.approx(1.0 - rate)


def test_a_rehearsal_names_the_words_it_loses() -> None:
    heard = {
        "rear door eighty mil": "rear door eighteen mil",
        "roof eighty mil": "roof eighteen mil",
        "left wing push": "left wing push",
        "swage line": "line",
    }
    order = list(heard)

    def record(phrase: str) -> Samples | None:
        return None if phrase == "left wing push" else np.array([order.index(phrase)], np.int16)

    report, recorded = rehearse(order, record, lambda sound: heard[order[int(sound[0])]])
    assert len(recorded) == 3
    lost = {w.word: (w.lost, w.said, w.heard_as) for w in report.lost_words}
    assert lost["eighty"] == (2, 2, ("eighteen",))
    assert lost["swage"] == (1, 1, ("",))
    assert lost["push"] == (1, 1, ("",))
    assert "mil" not in lost
    assert "voicelog teach eighty" in report.lines()[1]


def test_an_added_word_makes_a_phrase_wrong_but_loses_none() -> None:
    result = align("left wing", "left rear wing")
    assert not result.exact
    assert result.pairs == (("left", "left"), ("", "rear"), ("wing", "wing"))


def test_proposals_prefer_the_middle_and_leave_slips_out() -> None:
    a, b, c = ("S", "W", "EH", "JH"), ("S", "W", "EH", "D", "JH"), ("S", "W", "AA", "N", "JH")
    slip = ("S",)
    known = [("S", "W", "EY", "JH")]
    assert propose([c, b, a, slip], known)[0] in (a, b)
    assert slip not in propose([c, b, a, slip], known)
    assert propose([known[0], known[0], known[0]], known) == []


def test_only_what_improves_is_kept() -> None:
    sounds = [np.zeros(1, np.int16)] * 3
    heard = iter([("A", "B"), ("A", "C"), ("A", "B")])
    scores: dict[Phones | None, float] = {None: 0.8, ("A", "B"): 0.8, ("A", "C"): 0.9}
    result = teach("x", sounds, [], lambda _: next(heard), scores.__getitem__)
    assert (result.kept, result.before, result.after) == (("A", "C"), 0.8, 0.9)
    assert "80% -> 90%" in result.line()
    nothing = teach("x", sounds, [], lambda _: ("A", "B"), scores.__getitem__)
    assert nothing.kept is None
    assert "nothing kept" in nothing.line()
    with pytest.raises(VoicelogError, match="say it 3 times"):
        teach("x", sounds[:2], [], lambda _: (), scores.__getitem__)


def test_the_lexicon_numbers_pronunciations_and_keeps_the_rest(tmp_path: Path) -> None:
    path = tmp_path / "own" / "lexicon.dict"
    add_to_lexicon(path, "swage", ("S", "W", "EY", "JH"))
    add_to_lexicon(path, "wing", ("W", "IH", "NG"))
    add_to_lexicon(path, "swage", ("S", "W", "EH", "JH"))
    add_to_lexicon(path, "swage", ("S", "W", "EH", "JH"))
    assert path.read_text(encoding="utf-8") == "swage S W EY JH\nwing W IH NG\nswage(2) S W EH JH\n"
    assert [p.name for p in path.parent.iterdir()] == ["lexicon.dict"]
    with pytest.raises(VoicelogError, match="cannot be written"):
        add_to_lexicon(path / "below" / "a-file", "x", ("A", "B"))


GRAMMAR = """#JSGF V1.0;
grammar taught;
public <note> = ( swage | wage | sage | stage | cage | suede | sway ) line;
"""
LEXICON = "swage G OY F UW\n"


def sound(data: Path, name: str) -> Samples:
    return np.concatenate([c.samples for c in Recording(data / f"{name}.flac")])


def test_a_word_with_a_wrong_pronunciation_is_taught_for_real(data: Path, tmp_path: Path) -> None:
    """The lexicon says it wrongly; three repetitions mend it, also for sentences not used.

    Synthetic speech; the engine, the phone decode and the lexicon are the real ones.
    """
    (tmp_path / "taught.jsgf").write_text(GRAMMAR, encoding="utf-8")
    rehearsed = [("swage line", sound(data, f"swage_line_{i}")) for i in (1, 2)]
    rehearsed.append(("stage line", sound(data, "stage_line")))

    def decoder(phones: Phones | None) -> object:
        path = tmp_path / "own.dict"
        path.write_text(LEXICON, encoding="utf-8")
        if phones is not None:
            add_to_lexicon(path, "swage", phones)
        engine = open_engine("pocketsphinx", grammar=tmp_path / "taught.jsgf", lexicon=path)
        return lambda samples: engine.decode(samples).words

    def score_with(phones: Phones | None) -> float:
        return score(rehearsed, decoder(phones)).words_right  # type: ignore[arg-type]

    repetitions = [sound(data, f"swage_{i}") for i in (1, 2, 3)]
    result = teach("swage", repetitions, [("G", "OY", "F", "UW")], PhoneDecoder(), score_with)
    assert all(len(p) >= 2 for p in result.heard)
    assert result.kept is not None
    assert result.after > result.before
    unseen = [("swage line", sound(data, "swage_line_unseen"))]
    assert score(unseen, decoder(None)).words_right < 1.0  # type: ignore[arg-type]
    assert score(unseen, decoder(result.kept)).words_right == 1.0  # type: ignore[arg-type]
