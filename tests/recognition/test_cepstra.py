"""Our cepstra against PocketSphinx's own front end, and what a warp does."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pocketsphinx
import pytest

from tests.speech.recordings import read_sound
from voicelog.errors import VoicelogError
from voicelog.recognition.lexicon import read_lexicon
from voicelog.recognition.pocketsphinx.cepstra import CEPSTRA, RATE, FrontEnd, front_end, power_spectrum
from voicelog.recognition.pocketsphinx.decoder import open_decoder, score_of
from voicelog.recognition.pocketsphinx.speech_bounds import FRAME

TRADE = Path(__file__).parents[1] / "speech" / "trade"
WORDS = "left right rear door steel forty five shallow push"
MODEL = Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"


def decoder(features: dict[str, str]) -> Any:
    settings = {"hmm": str(MODEL), "lm": None, "bestpath": False, "loglevel": "FATAL"}
    entries = read_lexicon(MODEL.parent / "cmudict-en-us.dict", frozenset(WORDS.split()))
    opened = open_decoder(entries, settings, {"-remove_noise": "no", **features})
    opened.add_jsgf_string("x", f"#JSGF V1.0; grammar x; public <a> = ({WORDS.replace(' ', ' | ')})*;")
    opened.activate_search("x")
    return opened


def score(decoder: Any, feed: Any) -> tuple[str, float]:
    decoder.start_utt()
    feed()
    decoder.end_utt()
    return decoder.hyp().hypstr, score_of(decoder.hyp().score)


@pytest.mark.parametrize("name", ["tuning_00_af_bella.flac", "tuning_00_am_michael.flac"])
def test_scores_as_with_the_front_end_of_pocketsphinx(name: str) -> None:
    """Reference: PocketSphinx 5.1.1 with its model's settings, without noise removal."""
    samples = read_sound(TRADE / name)
    # No digital silence: the floor under it is ours.
    samples = samples + np.random.default_rng(2).normal(0, 20, len(samples)).astype(np.int16)
    cepstra = front_end(MODEL / "feat.params").cepstra(power_spectrum(samples))
    batch, plain = decoder({}), decoder({"-cmn": "none"})
    theirs = score(batch, lambda: batch.process_raw(samples.tobytes(), full_utt=True))
    ours = score(plain, lambda: plain.process_cep(cepstra.tobytes(), full_utt=True))
    assert ours[0] == theirs[0]
    assert ours[1] == pytest.approx(theirs[1], rel=0.01)


def test_the_mean_is_taken_off() -> None:
    noise = np.random.default_rng(1).normal(0, 1000, RATE).astype(np.int16)
    cepstra = FrontEnd().cepstra(power_spectrum(noise))
    assert cepstra.shape == (len(noise) // FRAME - 1, CEPSTRA)
    assert np.abs(cepstra.mean(axis=0)).max() < 1e-3


def test_a_warp_undoes_a_change_of_all_frequencies() -> None:
    """Tones a tenth higher look through warped filters much as the plain ones do."""
    times = np.arange(RATE) / RATE
    hiss = np.random.default_rng(3).normal(0, 50, RATE)

    def tones(factor: float) -> np.ndarray:
        wave = sum(np.sin(2 * np.pi * hz * factor * times) for hz in (500.0, 1500.0, 2500.0))
        swell = 1000 * (1 + np.sin(2 * np.pi * 3 * times))
        return np.asarray(wave * swell + hiss).astype(np.int16)

    plain = FrontEnd().cepstra(power_spectrum(tones(1.0)))
    higher = power_spectrum(tones(1.1))
    unmoved, moved = (FrontEnd().cepstra(higher, warp) for warp in (1.0, 1.1))
    assert np.abs(moved - plain).mean() < 0.5 * np.abs(unmoved - plain).mean()


@pytest.mark.parametrize("samples", [0, 1, 409, 410, 411, 570, 571])
def test_every_length_has_its_frames(samples: int) -> None:
    assert len(power_spectrum(np.ones(samples, np.int16))) == max(1, -(-(samples - 410) // 160) + 1)


def test_digital_silence_stays_finite() -> None:
    assert np.isfinite(FrontEnd().cepstra(power_spectrum(np.zeros(8000, np.int16)))).all()


def test_a_model_with_other_features_is_refused(tmp_path: Path) -> None:
    parameters = tmp_path / "feat.params"
    with pytest.raises(VoicelogError, match="no PocketSphinx model"):
        front_end(parameters)
    parameters.write_text("-transform legacy\n")
    with pytest.raises(VoicelogError, match="transform legacy"):
        front_end(parameters)
    parameters.write_text("-lowerf 200\n-nfilt 20\n")
    assert front_end(parameters) == FrontEnd(lowest_hz=200.0, filters=20)
