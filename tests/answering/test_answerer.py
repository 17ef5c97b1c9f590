"""The answerer's thread, its states, its voice, and how long things take to say."""

from __future__ import annotations

import importlib.util
import shutil
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from listening.fake_portaudio import FakePortAudio

from voicelog.answering import (
    Answerer,
    Player,
    SilentAnswerer,
    SpeakerAnswerer,
    digit_by_digit,
    open_answerer,
    spoken_seconds,
)
from voicelog.answering.speech import Voice
from voicelog.answering.tones import render, seconds_of
from voicelog.errors import VoicelogError
from voicelog.listening import HalfDuplexGate
from voicelog.sound.format import PLAY_RATE

VOICE_MISSING = importlib.util.find_spec("pyttsx3") is None or not (
    shutil.which("espeak-ng") or sys.platform in ("win32", "darwin")
)
needs_voice = pytest.mark.skipif(VOICE_MISSING, reason="no pyttsx3 with a voice behind it (espeak-ng)")


def played(sd: FakePortAudio) -> np.ndarray:
    return np.concatenate([block[:, 0] for block in sd.played] or [np.zeros(0)])


def test_a_tone_reaches_the_loudspeaker_whole() -> None:
    sd = FakePortAudio(PLAY_RATE)
    answerer = SpeakerAnswerer(Player(sd=sd), volume=0.4)
    answerer.sound("asked")
    assert answerer.wait()
    np.testing.assert_allclose(played(sd), render("asked", 0.4), atol=1e-6)
    answerer.close()


def test_another_rate_is_resampled() -> None:
    sd = FakePortAudio(44_100)
    answerer = SpeakerAnswerer(Player(sd=sd))
    answerer.sound("accepted")
    assert answerer.wait()
    assert len(played(sd)) == pytest.approx(seconds_of("accepted") * 44_100, abs=2)
    answerer.close()


def test_no_call_waits_for_the_sound() -> None:
    sd = FakePortAudio(PLAY_RATE)
    sd.on_write = lambda: time.sleep(0.05)
    answerer = SpeakerAnswerer(Player(sd=sd))
    began = time.monotonic()
    answerer.sound("warning")
    assert time.monotonic() - began < 0.04
    assert answerer.wait()
    answerer.close()


def test_a_newer_answer_cuts_the_older_short() -> None:
    sd = FakePortAudio(PLAY_RATE)
    sd.on_write = lambda: time.sleep(0.05)
    answerer = SpeakerAnswerer(Player(sd=sd))
    answerer.sound("warning")
    time.sleep(0.12)
    answerer.sound("accepted")
    assert answerer.wait()
    total = len(played(sd)) / PLAY_RATE
    assert total < seconds_of("warning") + seconds_of("accepted") - 0.1
    accepted = render("accepted")
    np.testing.assert_allclose(played(sd)[-len(accepted) :], accepted, atol=1e-6)
    answerer.close()


def test_the_gate_is_closed_while_it_sounds_and_open_after() -> None:
    sd = FakePortAudio(PLAY_RATE)
    gate = HalfDuplexGate(tail_s=0.1)
    closed: list[bool] = []
    sd.on_write = lambda: closed.append(gate.closed(time.monotonic(), time.monotonic() + 0.001))
    answerer = SpeakerAnswerer(Player(sd=sd, on_sounding=gate.close))
    answerer.sound("asked")
    assert answerer.wait()
    assert closed
    assert all(closed)
    time.sleep(0.3)
    assert not gate.closed(time.monotonic(), time.monotonic() + 1)
    answerer.close()


def test_a_missing_loudspeaker_is_a_state_and_its_return_is_noticed() -> None:
    sd = FakePortAudio(PLAY_RATE)
    sd.output_fails = True
    answerer = SpeakerAnswerer(Player(sd=sd))
    answerer.sound("accepted")
    assert answerer.wait()
    assert answerer.state.startswith("no sound: Speakers: cannot play (Device unavailable")
    sd.output_fails = False
    answerer.sound("accepted")
    assert answerer.wait()
    assert answerer.state.startswith("tones only")
    answerer.close()


def test_no_loudspeaker_at_all() -> None:
    sd = FakePortAudio(PLAY_RATE)
    sd.listed = [sd.device("Microphone", 1, 0, 48_000)]
    answerer = SpeakerAnswerer(Player(sd=sd))
    answerer.sound("accepted")
    assert answerer.wait()
    assert "no loudspeaker found" in answerer.state
    answerer.close()


@pytest.mark.parametrize("kind", ["silent", "speaker"])
def test_louder_and_quieter_move_3_db_within_bounds(kind: str) -> None:
    answerer: Answerer = (
        SilentAnswerer() if kind == "silent" else SpeakerAnswerer(Player(sd=FakePortAudio()), volume=0.5)
    )
    assert 20 * np.log10(answerer.louder() / 0.5) == pytest.approx(3.01, abs=0.01)
    assert answerer.quieter() == pytest.approx(0.5)
    assert max(answerer.louder() for _ in range(9)) == 1.0
    assert min(answerer.quieter() for _ in range(20)) == 0.05
    answerer.close()


def test_the_silent_one_remembers() -> None:
    answerer = SilentAnswerer()
    answerer.sound("accepted")
    answerer.speak("4 5 mil")
    assert answerer.given == [("sound", "accepted"), ("speak", "4 5 mil")]
    assert "no sound" in answerer.state


@needs_voice
def test_a_text_is_spoken_after_its_tone() -> None:
    sd = FakePortAudio(PLAY_RATE)
    answerer = open_answerer(Player(sd=sd))
    assert answerer.state == "tones and voice"
    answerer.sound("accepted")
    answerer.speak("rear right door, 4 5 mil")
    assert answerer.wait()
    seconds = len(played(sd)) / PLAY_RATE - seconds_of("accepted")
    assert seconds == pytest.approx(spoken_seconds("rear right door, 4 5 mil"), rel=0.25)
    answerer.close()


@needs_voice
@pytest.mark.parametrize(
    "text",
    [
        "left wing, 6 0 mil, crease, medium",
        "eight zero, or one eight?",
        "bonnet, 1 4 dents, 2 0 mil",
        "time stopped",
        "tailgate, aluminium, 1 1 5 mil, on the body line",
        "not understood, say it again",
        "reading 1 3 0, reference 1 2 2",
    ],
)
def test_the_estimate_agrees_with_a_real_voice(text: str) -> None:
    """None of these texts was used to fit the estimate."""
    voice = Voice()
    try:
        seconds = len(voice.render(text)) / PLAY_RATE
    finally:
        voice.close()
    assert spoken_seconds(text) == pytest.approx(seconds, rel=0.25, abs=0.15)


@needs_voice
def test_the_voice_leaves_standard_output_alone(capfd: pytest.CaptureFixture[str]) -> None:
    voice = Voice()
    voice.render("ready")
    sound = voice.render("rear right door, 4 5 mil, shallow, push")
    voice.close()
    assert np.max(np.abs(sound)) > 0.05
    assert capfd.readouterr().out == ""


def worker(tmp_path: Path, body: str) -> tuple[str, ...]:
    path = tmp_path / "worker.py"
    path.write_text("import sys, json, time\n" + body, encoding="utf-8")
    return (sys.executable, str(path))


@pytest.mark.skipif(importlib.util.find_spec("pyttsx3") is None, reason="pyttsx3 is not installed")
@pytest.mark.parametrize(
    ("body", "reason"),
    [
        ("print('RuntimeError: no espeak')", "no espeak"),
        ("sys.exit(3)", "no answer"),
        ("time.sleep(60)", "no answer within 0.5 s"),
    ],
)
def test_a_voice_that_does_not_start_is_said(tmp_path: Path, body: str, reason: str) -> None:
    with pytest.raises(VoicelogError, match=reason) as caught:
        Voice(patience_s=0.5, command=worker(tmp_path, body))
    assert "espeak-ng" in caught.value.line()


@pytest.mark.skipif(importlib.util.find_spec("pyttsx3") is None, reason="pyttsx3 is not installed")
@pytest.mark.parametrize("body", ["", "sys.stdin.readline(); print(flush=True)", "time.sleep(60)"])
def test_a_voice_that_fails_later_leaves_the_tones(tmp_path: Path, body: str) -> None:
    command = worker(tmp_path, "print(flush=True)\n" + body)
    sd = FakePortAudio(PLAY_RATE)
    answerer = SpeakerAnswerer(Player(sd=sd), Voice(patience_s=0.5, command=command))
    answerer.speak("hello")
    assert answerer.wait()
    assert answerer.state.startswith("tones only: no voice:")
    answerer.sound("accepted")
    assert answerer.wait()
    assert len(played(sd)) > 0
    answerer.close()


def test_numbers_digit_by_digit() -> None:
    assert digit_by_digit("45 mil by 4.5 inches") == "4 5 mil by 4 point 5 inches"
    assert digit_by_digit("£120.50 and £1,200 and $45") == "£120.50 and £1,200 and $45"
    assert digit_by_digit("dent 3.") == "dent 3."


def test_spoken_seconds_of_nothing_and_of_more() -> None:
    assert spoken_seconds("") == 0.0
    assert spoken_seconds("!?") == 0.0
    assert spoken_seconds("door, 4 5 mil") < spoken_seconds("rear right door, 4 5 mil")
