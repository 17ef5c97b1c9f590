"""The neural engine on recordings of synthetic voices and on bad input."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from tests.speech.noise import RATE, pink
from tests.speech.recordings import read_sound
from voicelog.errors import VoicelogError
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import Engine
from voicelog.recognition.neural import model_files
from voicelog.recognition.neural.engine import NeuralEngine
from voicelog.recognition.open import open_engine

HERE = Path(__file__).parent
TRADE = HERE.parent / "speech" / "trade"
GRAMMARS = HERE.parents[1] / "grammars"
FILES = model_files.find_model_files()
LIMITS = calibration("neural")

pytestmark = pytest.mark.skipif(FILES is None, reason="the speech model is not made for this system")


@pytest.fixture(scope="module")
def trade() -> Engine:
    return open_engine("auto", grammar=GRAMMARS / "voicelog.jsgf")


def recording(start: str) -> tuple[np.ndarray, str]:
    items = json.loads((TRADE / "manifest.json").read_text())["recordings"]
    item = next(item for item in items if item["file"].startswith(start))
    return read_sound(TRADE / item["file"]), item["words"]


@pytest.mark.parametrize(
    "start", ["tuning_00_af", "tuning_05_bm", "tuning_35_", "tuning_42_af", "tuning_59_"]
)
def test_trade_sentences_are_heard_surely(trade: Engine, start: str) -> None:
    sound, said = recording(start)
    answer = trade.decode(sound)
    assert trade.name == "neural 0.1.0"
    assert answer.words == said
    assert answer.for_us > LIMITS.accept
    assert answer.heard
    assert answer.weighed
    assert answer.confidence + sum(other.confidence for other in answer.alternatives) <= 1.0001


def test_a_teen_is_always_compared_with_its_ty(trade: Engine) -> None:
    answer = trade.decode(recording("tuning_07_am_puck")[0])
    numbers = {
        word
        for words in [answer.words, *(other.words for other in answer.alternatives)]
        for word in words.split()
    }
    assert {"fifteen", "fifty"} <= numbers
    assert answer.confidence < LIMITS.accept


def test_words_come_while_they_are_spoken_and_the_answer_is_that_of_the_whole(trade: Engine) -> None:
    sound, said = recording("tuning_05_af")
    with trade.stream() as stream:
        told = [stream.feed(sound[first : first + RATE // 10]) for first in range(0, len(sound), RATE // 10)]
        answer = stream.finish()
    assert answer == trade.decode(sound) == trade.decode(sound.astype("<i2").tobytes())
    assert len(set(told)) >= 3
    assert said.split()[0] in told[-1].lower()


def test_a_stream_without_partials_is_silent_until_its_end(trade: Engine) -> None:
    sound, said = recording("tuning_41_")
    with trade.stream(partials=False) as stream:
        assert {stream.feed(sound[first : first + 1600]) for first in range(0, len(sound), 1600)} == {""}
        assert stream.finish().words == said


def test_asleep_only_the_wake_phrase_wakes_and_nothing_is_spelled(trade: Engine) -> None:
    """The wake recordings are synthetic (see tests/speech/voices.py)."""
    trade.only(GRAMMARS / "asleep.jsgf")
    try:
        for voice in ("am_eric", "bf_emma"):
            answer = trade.decode(read_sound(HERE / f"wake_{voice}.flac"))
            assert answer.words == "start listening"
            assert answer.for_us >= LIMITS.reject
        for start in ("tuning_00_af", "tuning_07_", "tuning_38_", "tuning_46_", "tuning_59_"):
            answer = trade.decode(recording(start)[0])
            assert answer.words != "start listening" or answer.for_us < LIMITS.reject, start
            assert answer.heard == ""
    finally:
        trade.only(None)


def test_any_grammar_will_do_and_what_is_not_in_it_is_not_for_us(tmp_path: Path) -> None:
    path = tmp_path / "small.jsgf"
    path.write_text(
        "#JSGF V1.0;\ngrammar s;\n"
        "public <s> = (rear | front) (left | right) door steel <n> mil shallow push;\n"
        "<n> = fifteen | forty five;\n"
    )
    engine = open_engine("neural", grammar=path)
    sound, said = recording("tuning_00_af")
    assert engine.decode(sound).words == said
    assert engine.decode(recording("tuning_42_af")[0]).for_us < LIMITS.reject


@pytest.mark.parametrize("seconds", [0, 0.005, 0.1, 1.5, 40])
def test_silence_is_not_for_us(trade: Engine, seconds: float) -> None:
    answer = trade.decode(np.zeros(int(seconds * RATE), np.int16))
    assert answer.for_us < LIMITS.reject
    assert answer.confidence < LIMITS.reject


def test_noise_is_not_for_us(trade: Engine) -> None:
    loud = np.random.default_rng(3).integers(-32768, 32767, 3 * RATE).astype(np.int16)
    for sound in (loud, pink(3, seed=4)):
        assert trade.decode(sound).for_us < LIMITS.reject


def test_wrong_sound_is_refused(trade: Engine) -> None:
    with pytest.raises(VoicelogError, match="mono 16-bit"):
        trade.decode(np.zeros(100))  # type: ignore[arg-type]


def model_folder(folder: Path) -> Path:
    assert FILES is not None
    for path in (FILES.encoder, FILES.decoder, FILES.tokenizer):
        shutil.copy(path, folder / path.name)
    return folder


@pytest.mark.parametrize("name", model_files.NAMES)
def test_a_missing_or_cut_model_file_is_one_line(name: str, tmp_path: Path) -> None:
    path = model_folder(tmp_path) / name
    path.write_bytes(path.read_bytes()[:-5000])
    with pytest.raises(VoicelogError, match="damaged"):
        NeuralEngine(GRAMMARS / "asleep.jsgf", model=tmp_path)
    path.unlink()
    with pytest.raises(VoicelogError, match=f"incomplete: no {name}"):
        NeuralEngine(GRAMMARS / "asleep.jsgf", model=tmp_path)


def test_a_runtime_that_is_missing_or_too_old_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "onnxruntime", SimpleNamespace(__version__="1.2.0"))
    with pytest.raises(VoicelogError, match=r"onnxruntime 1\.2\.0 is too old"):
        NeuralEngine(GRAMMARS / "asleep.jsgf")
    monkeypatch.setitem(sys.modules, "onnxruntime", None)
    with pytest.raises(VoicelogError, match="onnxruntime cannot be used"):
        NeuralEngine(GRAMMARS / "asleep.jsgf")


def test_without_the_wheel_pocketsphinx_takes_over(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(model_files, "PACKAGE", "no_such_package")
    assert open_engine("auto", grammar=GRAMMARS / "asleep.jsgf").name.startswith("pocketsphinx ")
    with pytest.raises(VoicelogError, match="not installed"):
        open_engine("neural", grammar=GRAMMARS / "asleep.jsgf")


def test_the_wheel_is_found_but_never_imported() -> None:
    code = (
        "import sys; from voicelog.recognition.open import open_engine;"
        f"open_engine('neural', grammar={str(GRAMMARS / 'asleep.jsgf')!r});"
        "print([name for name in ('moonshine_voice', 'sounddevice', 'pocketsphinx') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(eval(done.stdout)) <= {"pocketsphinx"}
