"""Word pieces, spellings and the search that holds the decoder to a grammar, without the networks."""

from __future__ import annotations

import itertools
import random
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.grammar import load_grammar
from voicelog.recognition.neural import language as neural_language
from voicelog.recognition.neural.compiled import compiled
from voicelog.recognition.neural.language import Language, letters_in
from voicelog.recognition.neural.model_files import find_model_files
from voicelog.recognition.neural.pieces import END, PIECES, Pieces
from voicelog.recognition.neural.search import Sentence, Width, search, spoken, write_freely
from voicelog.recognition.neural.sounds_like import apart, longest_apart, sounds
from voicelog.recognition.neural.spelling import spellings
from voicelog.recognition.neural.weighing import content, heard, offers, shared_out, weighed, weighed_again

sys.path.insert(0, str(Path(__file__).parents[1] / "grammar"))
from grammars_at_random import Part, grammars

FILES = find_model_files()
pytestmark = pytest.mark.skipif(FILES is None, reason="the speech model is not made for this system")

TOY = """#JSGF V1.0 UTF-8 en;
grammar toy;
public <toy> = (rear | front) door <number> mil | memo … + | plate (x-ray | alfa) ;
<number> = forty five | eighteen | eighty | (one | two) hundred [and five] | two point five | double one;
"""


@pytest.fixture(scope="module")
def pieces() -> Pieces:
    assert FILES is not None
    return Pieces(FILES.tokenizer)


def language_of(text: str, folder: Path, pieces: Pieces, monkeypatch: pytest.MonkeyPatch) -> Language:
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "cache"))
    path = folder / "toy.jsgf"
    path.write_text(text, encoding="utf-8")
    return Language(compiled(path), pieces)


class Likes:
    """Stands for a segment of sound in which one text is by far the likeliest."""

    def __init__(self, text: str, pieces: Pieces, seed: int = 1) -> None:
        self.wanted = [*pieces.encode(f" {text}"), END]
        self.noise = np.random.default_rng(seed).normal(-20, 1, PIECES).astype(np.float32)
        self.begin: tuple[Any, Any] = self._after([()]), [()]

    def _after(self, histories: Sequence[tuple[int, ...]]) -> Any:
        rows = np.repeat(self.noise[None], len(histories), 0)
        for row, history in enumerate(histories):
            if list(history) == self.wanted[: len(history)] and len(history) < len(self.wanted):
                rows[row, self.wanted[len(history)]] = -0.1
        return rows

    def step(self, written: Sequence[int], state: Any, rows: Sequence[int]) -> tuple[Any, Any]:
        grown = [(*state[row], piece) for row, piece in zip(rows, written, strict=True)]
        return self._after(grown), grown


def found(text: str, language: Language, pieces: Pieces) -> list[str]:
    return [spoken(item.words) for item in search(Likes(text, pieces), language, letters_in(text), Width())]  # type: ignore[arg-type]


def test_pieces_join_to_the_text_they_were_cut_from(pieces: Pieces) -> None:
    for text in ("Rear right door, steel, 45mm.", "x-ray", "Aluminium", "it's", "naïve £5"):
        assert pieces.decode(pieces.encode(f" {text}")) == text


def test_text_is_cut_as_the_model_writes_it(pieces: Pieces) -> None:
    # What the model wrote of recordings, piece by piece (looked at once by hand).
    cut = [pieces.texts[number] for number in pieces.encode(" Tailgate thirteen 45mm")]
    assert cut == ["▁T", "ail", "gate", "▁th", "ir", "teen", "▁", "4", "5", "mm"]


def test_a_damaged_tokenizer_is_one_line(tmp_path: Path) -> None:
    assert FILES is not None
    short = tmp_path / "tokenizer.bin"
    short.write_bytes(FILES.tokenizer.read_bytes()[:1000])
    for path in (short, tmp_path / "none.bin"):
        with pytest.raises(VoicelogError, match="tokenizer"):
            Pieces(path)


def test_words_are_written_as_others_that_sound_the_same_and_in_both_regions() -> None:
    ways = spellings(["mil", "four", "colour", "center", "x-ray"])
    assert {"mil", "mill", "mm"} <= set(ways["mil"])
    assert {"four", "for", "fore"} <= set(ways["four"])
    assert "color" in ways["colour"]
    assert "centre" in ways["center"]
    assert {"x-ray", "xray", "x ray"} <= set(ways["x-ray"])


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Rear door, forty-five mill.", "rear door forty five mil"),
        ("Front door 45mm", "front door forty five mil"),
        ("rear-door 18 Mil", "rear door eighteen mil"),
        ("Rear door 80 ml.", "rear door eighty mil"),
        ("Rear door, 205 mil", "rear door two hundred and five mil"),
        ("Rear door 100 mil.", "rear door one hundred mil"),
        ("Rear door 2.5 mil.", "rear door two point five mil"),
        ("Rear door 11 mil.", "rear door double one mil"),
        ("Plate Xray.", "plate x-ray"),
        ("Plate alpha.", "plate alfa"),
        ("Memo, call Missus O'Hara on Friday!", "memo call missus o'hara on friday"),
    ],
)  # fmt: skip
def test_case_marks_hyphens_and_digits_are_free(
    written: str, said: str, pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert found(written, language_of(TOY, tmp_path, pieces, monkeypatch), pieces)[0] == said


def test_what_was_written_freely_is_the_likeliest_piece_each_time(pieces: Pieces) -> None:
    free = write_freely(Likes("Hello there, Friday.", pieces))  # type: ignore[arg-type]
    assert pieces.decode(free.pieces) == "Hello there, Friday."


@given(grammar=grammars(), seed=st.integers(0, 1000))
@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_everything_found_is_a_sentence_of_the_grammar(
    grammar: Part, seed: int, pieces: Pieces, tmp_path_factory: pytest.TempPathFactory
) -> None:
    folder = tmp_path_factory.mktemp("grammar")
    with pytest.MonkeyPatch.context() as patch:
        text = f"#JSGF V1.0;\ngrammar x;\n{grammar.jsgf}"
        said = [words for words in grammar.language if words]
        if not said:
            return
        language = language_of(text, folder, pieces, patch)
    network = load_grammar(folder / "toy.jsgf").network()
    wanted = random.Random(seed).choice(sorted(said))
    answers = found(" ".join(wanted), language, pieces)
    assert answers[0] == " ".join(wanted)
    assert all(network.match(answer, 1) for answer in answers)


def test_what_can_be_said_once_is_found_once(
    pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = (
        "#JSGF V1.0;\ngrammar x;\npublic <x> = (left {once=side} | right {once=side} | door {once=panel})+;\n"
    )
    language = language_of(text, tmp_path, pieces, monkeypatch)
    assert found("Left door.", language, pieces)[0] == "left door"
    for answer in found("left left door door", language, pieces):
        assert answer.count("door") <= 1
        assert answer.count("left") + answer.count("right") <= 1


def test_the_cache_gives_the_same_language_and_a_damaged_one_is_made_anew(
    pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fresh = language_of(TOY, tmp_path, pieces, monkeypatch)
    (kept,) = (tmp_path / "cache").rglob("*.json")
    again = language_of(TOY, tmp_path, pieces, monkeypatch)
    kept.write_text("{half of i")
    anew = language_of(TOY, tmp_path, pieces, monkeypatch)
    answers = [found("Rear door 45mm", made, pieces) for made in (fresh, again, anew)]
    assert answers[0] == answers[1] == answers[2]


def test_words_that_cannot_be_written_are_named_together(
    pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = '#JSGF V1.0 UTF-8 en;\ngrammar x;\npublic <x> = door | "!!" | "??";\n'
    with pytest.raises(VoicelogError, match=r"cannot write: !!, \?\?"):
        language_of(text, tmp_path, pieces, monkeypatch)


def test_a_grammar_without_a_sentence_is_refused(
    pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(VoicelogError, match="no sentence"):
        language_of("#JSGF V1.0;\ngrammar x;\npublic <x> = door <VOID>;\n", tmp_path, pieces, monkeypatch)


def test_misheard_words_are_nearer_in_sound_than_others() -> None:
    assert apart("loophole", "glue pull") < apart("loophole", "push") + 1
    assert apart("Left roof real thirty five mill", "left roof rail thirty five mil") <= 1
    assert sounds("45") == sounds("forty five")
    assert all(sounds(str(number)) for number in itertools.chain(range(200), (1000, 4711)))


def test_numbers_count_as_figures_when_answers_are_compared() -> None:
    assert content(["forty", "five", "mil"]) == content(["four", "five", "mil"])
    assert content(["fifty", "with", "a", "door"]) == content(["five", "zero", "door"])
    assert content(["fifteen"]) != content(["fifty"])


def test_a_word_that_was_left_out_shows_as_a_stretch_of_sounds() -> None:
    assert longest_apart("Barnet fifty mill round deep", "bonnet fifty mil round deep") <= 1
    assert longest_apart("Barnet fifty mill round deep loophole", "bonnet fifty mil round deep") >= 4
    assert longest_apart("Roof steel", "roof steel") == 0


class Scores:
    """Stands for a sound in which the texts of a table are as likely as it says, all others unlikely."""

    def __init__(self, table: dict[str, float], pieces: Pieces) -> None:
        self.table = {pieces.encode_words(text): logprob for text, logprob in table.items()}

    def score(self, sentences: Sequence[Sequence[int]]) -> list[tuple[float, float]]:
        return [(self.table.get(tuple(way), -40.0), 0.0) for way in sentences]


def test_a_number_is_compared_with_its_twin_in_words_and_in_figures(pieces: Pieces) -> None:
    best = Sentence(("roof", "forty", "mil"), pieces.encode_words("Roof forty mill."), 0.0, 0.0, 0.0)
    made = offers([best], pieces, "Roof fourteen mill.")
    assert [offer.words[1] for offer in made] == ["forty", "fourteen"]
    written = [[pieces.decode(way) for way in offer.ways] for offer in made]
    assert written == [
        ["Roof forty mill.", "Roof 40 mill."],
        ["Roof fourteen mill.", "Roof 14 mill."],
    ]
    table = {"Roof forty mill.": -6.0, "Roof 40 mill.": -4.0, "Roof fourteen mill.": -1.0}
    likely = heard(made, Scores(table, pieces))  # type: ignore[arg-type]
    assert likely[0, 0] == pytest.approx(np.logaddexp(-6.0, -4.0))
    (words, share), (other, rest) = shared_out(weighed(made, likely, {"logprob": 1.0}))
    assert (words, other) == ("roof fourteen mil", "roof forty mil")
    # Chances in the ratio of e to the -1 and of e to the -6 and -4 together.
    assert share / rest == pytest.approx(np.exp(-1.0) / (np.exp(-6.0) + np.exp(-4.0)), rel=1e-3)


def test_only_the_nearest_sentences_are_scored_again_and_the_others_move_with_them(pieces: Pieces) -> None:
    texts = ["roof", "bonnet", "door", "wing", "sill", "tailgate"]
    found = [Sentence((text,), pieces.encode_words(text), 0.0, 0.0, 0.0) for text in texts]
    first = Scores(dict(zip(texts, (-1.0, -2.0, -3.0, -4.0, -5.0, -9.0), strict=True)), pieces)
    made = offers(found, pieces, "")
    best = weighed(made, heard(made, first), {"logprob": 1.0})  # type: ignore[arg-type]
    # "bonnet" wins when heard again; "sill", then the likeliest of all, is not asked for.
    other = Scores({"roof": -9.0, "bonnet": -2.0, "door": -3.0, "wing": -4.0, "sill": 0.0}, pieces)
    again = weighed_again(best, [other], {"logprob": 1.0})  # type: ignore[list-item]
    assert [offer.words[0] for offer in again] == ["bonnet", "door", "wing", "roof", "sill", "tailgate"]
    assert [offer.total for offer in again] == pytest.approx([-2.0, -3.0, -4.0, -5.0, -6.0, -10.0])


def test_places_of_earlier_searches_are_let_go_once_they_are_many(
    pieces: Pieces, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    language = language_of(TOY, tmp_path, pieces, monkeypatch)
    before = found("Rear door 45mm", language, pieces)
    monkeypatch.setattr(neural_language, "MOST_FANS", 3)
    assert found("Front door 80 ml.", language, pieces)[0] == "front door eighty mil"
    assert found("Rear door 45mm", language, pieces) == before
