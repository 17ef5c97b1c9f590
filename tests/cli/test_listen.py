"""`voicelog listen` with a real capture: PortAudio records what a private sound server plays."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest
import soundfile

from tests.listening.pulse import pulse_server

ROOT = Path(__file__).parents[2]
MORNING = ROOT / "demo" / "recordings" / "01-morning.flac"
READY_S = 60.0


class Listener:
    """A running `voicelog listen` and the lines it printed."""

    def __init__(self, log: Path, environment: dict[str, str]) -> None:
        arguments = [
            "listen",
            "--no-board",
            "--mute",
            "--json",
            "--engine",
            "auto",
            "--log",
            str(log),
        ]
        self.process = subprocess.Popen(
            [sys.executable, "-m", "voicelog", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=os.environ | environment,
            cwd=ROOT,
            # A shell may have started the tests with Ctrl-C switched off, and that is inherited.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
        self.lines: list[dict[str, Any]] = []
        self.errors: list[str] = []
        self.ready = threading.Event()
        threading.Thread(target=self._read, daemon=True).start()
        threading.Thread(target=self._watch, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.append(json.loads(line))

    def _watch(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.errors.append(line)
            if "listening" in line:
                self.ready.set()

    def stop(self) -> int:
        """Press Ctrl-C."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(timeout=30)


def test_a_recording_played_into_the_microphone_is_taken_down(tmp_path: Path) -> None:
    samples, rate = soundfile.read(MORNING, dtype="int16", frames=16000 * 14)
    excerpt = tmp_path / "excerpt.wav"
    soundfile.write(excerpt, samples, rate)
    with pulse_server() as pulse:
        listener = Listener(tmp_path / "j.db", pulse.environment | {"HOME": str(tmp_path)})
        try:
            if not listener.ready.wait(READY_S):
                pytest.fail(f"not listening after {READY_S} s: {listener.errors}")
            pulse.play(excerpt)
            deadline = threading.Event()
            for _ in range(100):
                if len(listener.lines) >= 3:
                    break
                deadline.wait(0.2)
        finally:
            status = listener.stop()
    assert status in (0, 130)
    assert not any("Traceback" in line for line in listener.errors)
    heard = [line["words"] for line in listener.lines]
    assert heard[0] == "new job"
    assert any("front left door aluminium thirty five mil" in words for words in heard)
    assert all(line["source"] != "typed" for line in listener.lines)
