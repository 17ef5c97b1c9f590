"""The PocketSphinx engine on recordings of synthetic voices and on bad input."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from tests.speech.noise import RATE, mixed, pink
from tests.speech.recordings import read_sound
from voicelog.errors import VoicelogError
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import Engine
from voicelog.recognition.open import open_engine
from voicelog.recognition.pocketsphinx.engine import PocketSphinxEngine

HERE = Path(__file__).parent
TRADE = HERE.parent / "speech" / "trade"
GRAMMARS = HERE.parents[1] / "grammars"

SMALL = """#JSGF V1.0;
grammar small;
public <order> = (rear | front) (left | right) (door | wing) <size> mil;
<size> = fifteen | fifty | forty five | thirty;
"""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Engine:
    path = tmp_path_factory.mktemp("grammar") / "small.jsgf"
    path.write_text(SMALL)
    return open_engine("pocketsphinx", grammar=path)


@pytest.fixture(scope="module")
def trade() -> PocketSphinxEngine:
    return PocketSphinxEngine(GRAMMARS / "voicelog.jsgf", GRAMMARS / "trade.dict")


def recording(start: str) -> tuple[np.ndarray, str]:
    items = json.loads((TRADE / "manifest.json").read_text())["recordings"]
    item = next(item for item in items if item["file"].startswith(start))
    return read_sound(TRADE / item["file"]), item["words"]


def test_a_trade_sentence_with_confidence(trade: Engine) -> None:
    sound, said = recording("tuning_01_af")
    answer = trade.decode(sound)
    assert answer.words == said
    assert 0.5 < answer.confidence < 1
    assert answer.engine.startswith("pocketsphinx 5")
    assert not answer.weighed


def test_stream_and_bytes_give_the_same_answer_as_decode(trade: Engine) -> None:
    sound, _ = recording("tuning_07_")
    whole = np.concatenate([sound, np.zeros(RATE * 6 // 10, np.int16)])
    with trade.stream() as stream:
        partials = {stream.feed(whole[first : first + 1600]) for first in range(0, len(whole), 1600)}
        answer = stream.finish()
    assert partials == {""}
    assert answer == trade.decode(whole)
    assert answer == trade.decode(whole.astype("<i2").tobytes())


def test_asleep_only_the_wake_phrase_wakes(trade: Engine) -> None:
    """The wake recordings are synthetic (see tests/speech/voices.py)."""
    wakes = calibration("pocketsphinx").reject
    trade.only(GRAMMARS / "asleep.jsgf")
    try:
        for voice in ("am_eric", "bf_emma"):
            answer = trade.decode(read_sound(HERE / f"wake_{voice}.flac"))
            assert answer.words == "start listening"
            assert answer.confidence >= wakes
        for start in ("tuning_00_af", "tuning_07_", "tuning_38_", "tuning_46_"):
            answer = trade.decode(recording(start)[0])
            assert answer.words != "start listening" or answer.confidence < wakes, start
        assert trade.decode(pink(2, seed=4)).confidence < wakes
    finally:
        trade.only(None)
    assert trade.decode(recording("tuning_00_af")[0]).words == recording("tuning_00_af")[1]


def test_the_same_sound_scores_the_same_whatever_came_before(small: Engine) -> None:
    sound, _ = recording("tuning_00_af")
    first = small.decode(sound)
    small.decode(mixed(sound, pink(3, seed=1), 0, seed=1))
    small.decode(pink(2, seed=2))
    assert small.decode(sound) == first


def test_words_are_found_in_a_long_silence(small: Engine) -> None:
    sound, _ = recording("tuning_00_af")
    silence = np.zeros(2 * RATE, np.int16)
    for parts in ([sound, silence, silence], [silence, silence, sound]):
        assert small.decode(np.concatenate(parts)).words == small.decode(sound).words != ""


@pytest.mark.parametrize("seconds", [0, 0.005, 0.1, 1.5])
def test_silence_and_next_to_nothing_give_no_words(small: Engine, seconds: float) -> None:
    answer = small.decode(np.zeros(int(seconds * RATE), np.int16))
    assert (answer.words, answer.confidence, answer.alternatives) == ("", 0.0, ())
    with small.stream() as stream:
        assert stream.finish().words == ""


def test_full_scale_noise_takes_bounded_time_and_is_not_accepted(trade: Engine) -> None:
    rng = np.random.default_rng(3)
    sound = rng.integers(-32768, 32767, 4 * RATE).astype(np.int16)
    started = time.process_time()
    answer = trade.decode(sound)
    assert time.process_time() - started < 4.0
    assert answer.confidence < 0.5


def test_wrong_sound_is_refused(small: Engine) -> None:
    with pytest.raises(VoicelogError, match="mono 16-bit"):
        small.decode(np.zeros(100))  # type: ignore[arg-type]
    with pytest.raises(VoicelogError, match="half a 16-bit sample"):
        small.decode(b"abc")


def test_all_words_without_pronunciation_are_named_together(tmp_path: Path) -> None:
    path = tmp_path / "x.jsgf"
    path.write_text("#JSGF V1.0;\ngrammar x;\npublic <a> = swage | door | zzyzx;\n")
    with pytest.raises(VoicelogError, match="no pronunciation for: swage, zzyzx"):
        open_engine("pocketsphinx", grammar=path)
    lexicon = tmp_path / "x.dict"
    lexicon.write_text("swage S W EY JH\nzzyzx Z IH Z IH K S\n")
    open_engine("pocketsphinx", grammar=path, lexicon=lexicon)


def test_unknown_engine_is_refused() -> None:
    with pytest.raises(VoicelogError, match='no recogniser is called "whisper"'):
        open_engine("whisper", grammar="x.jsgf")


def test_importing_the_interface_loads_no_recogniser() -> None:
    code = (
        "import sys, voicelog.recognition.engine, voicelog.recognition.vosk.models;"
        "print([name for name in ('pocketsphinx', 'vosk') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
