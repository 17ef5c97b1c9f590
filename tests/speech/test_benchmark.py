"""The benchmark's arithmetic on rows made by hand, and a short run for real."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.speech.benchmark import (
    Row,
    calibration_table,
    is_right,
    measure,
    report,
    slot_counts,
    slots_of,
)
from tests.speech.confusions import confusions
from tests.speech.noise import impacts
from tests.speech.recordings import Corpus, Recording, pieces, read_corpus, read_sound
from tests.speech.understood import GRAMMAR, became
from voicelog.grammar import load_grammar
from voicelog.meaning.region import Region
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import open_engine

TRADE = Path(__file__).parent / "trade"

CAFE = """#JSGF V1.0;
grammar cafe;
<size> = small | large;
<drink> = iced tea | tea;
public <order> = [please] [<size>] <drink>;
"""


def row(**changes: object) -> Row:
    values: dict[str, object] = {
        "file": "a", "voice": "v", "split": "", "noise": "clean", "for_us": True, "said": "large tea",
        "heard": "large tea", "right": True, "confidence": 0.95,
        "alternatives": [], "alternative_right": False,
        "seconds": 36.0, "cpu_s": 3.6,
    }  # fmt: skip
    return Row(**(values | changes))  # type: ignore[arg-type]


def test_report_counts_what_the_targets_are_about() -> None:
    wrong = {"heard": "small tea", "right": False}
    rows = [
        *[row() for _ in range(6)],
        row(**wrong),
        row(**wrong, confidence=0.5, alternative_right=True),
        row(confidence=0.5),
        row(heard="", right=False, confidence=0.0),
        row(for_us=False, said="", heard="tea", right=False, confidence=0.9),
        row(for_us=False, said="", heard="tea", right=False, confidence=0.3),
    ]
    text = report(rows, accept=0.8, reject=0.1)
    assert "real-time factor 0.100" in text
    assert "right 70.0 % (7/10), accepted 70.0 % (7/10), asked 20.0 % (2/10), rejected 10.0 % (1/10)" in text
    assert "silent errors 14.3 % (1/7)" in text
    assert "wrong one that was asked 100.0 % (1/1)" in text
    # 10 sentences of 2 words: 2 words wrong, 2 missing
    assert "word error rate 20.0 %, exact 70.0 % (7/10)" in text
    assert "false accepts 50.0 an hour, questions 50.0 an hour (1 and 1 in 0.020 h)" in text


def test_calibration_table_sets_stated_beside_found() -> None:
    table = calibration_table([row(confidence=0.95), row(confidence=0.93, right=False), row(confidence=0.2)])
    assert "0.9 - 1.0        2       94.0 %   50.0 %" in table
    assert "0.2 - 0.3        1       20.0 %  100.0 %" in table


def test_slots_are_the_words_of_the_rules_named(tmp_path: Path) -> None:
    (tmp_path / "cafe.jsgf").write_text(CAFE)
    (tmp_path / "labels.json").write_text(json.dumps({"a.wav": {"size": "large", "drink": "iced tea"}}))
    corpus = read_corpus(tmp_path)
    assert corpus.grammar == tmp_path / "cafe.jsgf"
    network = load_grammar(corpus.grammar).network()
    names = {"size", "drink"}
    assert slots_of(network, "please tea", names) == {"drink": "tea"}
    assert slots_of(network, "tea please", names) is None
    assert is_right(network, corpus.recordings[0], "please large iced tea", names)
    assert not is_right(network, corpus.recordings[0], "large tea", names)


def test_slots_said_heard_and_made_up(tmp_path: Path) -> None:
    (tmp_path / "bar.jsgf").write_text(
        "#JSGF V1.0;\ngrammar bar;\npublic <a> = (small {size=s} | large {size=l}) [tea {drink=tea}];\n"
    )
    network = load_grammar(tmp_path / "bar.jsgf").network()
    item = Recording(Path("a.wav"), "large")
    assert slot_counts(network, item, "large", set()) == (1, 1, 0)
    assert slot_counts(network, item, "small", set()) == (1, 0, 0)
    assert slot_counts(network, item, "large tea", set()) == (1, 1, 1)
    assert slot_counts(network, item, "", set()) == (1, 0, 0)
    labelled = Recording(Path("a.wav"), slots={"drink": "tea"})
    assert slot_counts(network, labelled, "", {"drink"}) == (1, 0, 0)


def test_short_run_for_real() -> None:
    """A few American recordings for tuning: most are right, no blow of a hammer is accepted.

    `python -m tests.speech.benchmark tests/speech/trade` measures all voices.
    """
    corpus = read_corpus(TRADE)
    assert corpus.grammar is not None
    voices = ("natural:am_puck", "natural:am_michael")
    some = [item for item in corpus.recordings if item.split == "tuning" and item.voice in voices][::6]
    blows = list(pieces(impacts(8.0, seed=8)))
    engine = open_engine("pocketsphinx", grammar=corpus.grammar, lexicon=corpus.lexicon)
    network = load_grammar(corpus.grammar).network()
    sounds = [read_sound(item.path) for item in some]
    rows = list(measure(engine, network, Corpus(some), "clean", sounds))
    others = Corpus([Recording(Path("impacts"), "")] * len(blows))
    accept = calibration("pocketsphinx").accept
    assert sum(item.right for item in rows) >= 0.8 * len(rows)
    assert [item for item in rows if item.confidence >= accept and not item.right] == []
    foreign = list(measure(engine, network, others, "impacts", blows))
    assert [item for item in foreign if item.heard and item.confidence >= accept] == []


@pytest.mark.parametrize("split", ["tuning", "held"])
def test_every_recorded_sentence_is_in_the_grammar(split: str) -> None:
    corpus = read_corpus(TRADE)
    assert corpus.grammar is not None
    network = load_grammar(corpus.grammar).network()
    said = {item.words or "" for item in corpus.recordings if item.split == split}
    assert [words for words in sorted(said) if not network.match(words, 1)] == []


def test_what_becomes_of_a_note_by_its_words_and_confidence() -> None:
    network, region = load_grammar(GRAMMAR).network(), Region("GB")

    def fate(said: str, heard: str, confidence: float, *others: tuple[str, float]) -> tuple[str, bool]:
        words, chances = [word for word, _ in others], [chance for _, chance in others]
        row = {
            "said": said,
            "heard": heard,
            "confidence": confidence,
            "alternatives": words,
            "chances": chances,
        }
        return became(row, network, region, "pocketsphinx 5.1.1")

    assert fate("roof fifty mil", "roof fifty mil", 0.99) == ("accepted", True)
    assert fate("roof fifty mil", "roof fifty mil dent", 0.99) == ("accepted", True)
    assert fate("roof forty mil", "roof fifty mil", 0.99) == ("accepted", False)
    assert fate("roof fifty mil", "roof fifteen mil", 0.92, ("roof fifty mil", 0.04)) == ("asked", False)
    assert fate("roof fifty mil", "roof fifty mil", 0.6) == ("asked", True)
    assert fate("roof fifty mil", "roof fifty mil", 0.1)[0] == "rejected"
    assert fate("roof fifty mil", "", 0.0)[0] == "rejected"


def test_confusions_are_counted_by_what_stands_where() -> None:
    pairs = [("eighty mil", "eighteen mil"), ("eighty mil", "eighteen mil"), ("no", ""), ("yes", "yes oh")]
    assert confusions(pairs) == {("eighty", "eighteen"): 2, ("no", "-"): 1, ("-", "oh"): 1}
