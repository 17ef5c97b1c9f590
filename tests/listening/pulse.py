"""A sound server of our own without any hardware, for tests of real capture and playback.

`pulse_server()` starts a private PulseAudio with two null sinks.  What a test
plays into `microphone_sink` is what a program recording through PortAudio hears;
what a program plays through PortAudio can be recorded from the monitor of
`speaker_sink`.  `PulseServer.environment` holds the variables such a program
needs, so that a whole command can be driven:

    with pulse_server() as pulse:
        listener = subprocess.Popen([...], env=os.environ | pulse.environment)
        pulse.play(Path("notes.flac"))

Nothing of a running desktop's sound server is touched.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

MICROPHONE_SINK = "voicelog_microphone"
SPEAKER_SINK = "voicelog_speaker"


@dataclass
class PulseServer:
    """A running private server; `environment` is for programs that shall use it."""

    environment: dict[str, str]
    modules: dict[str, str] = field(default_factory=dict)

    def play(self, path: Path, *, wait: bool = True) -> subprocess.Popen[bytes]:
        """Play a sound file (WAV, FLAC) into the microphone at its own speed."""
        player = subprocess.Popen(
            ["paplay", f"--device={MICROPHONE_SINK}", str(path)], env=os.environ | self.environment
        )
        if wait and player.wait(timeout=120) != 0:
            raise RuntimeError(f"paplay could not play {path}")
        return player

    @contextlib.contextmanager
    def recording_speaker(self, path: Path) -> Iterator[None]:
        """Record what programs play, as a WAV of 48 kHz mono, while the block runs."""
        recorder = subprocess.Popen(
            [
                "parecord",
                f"--device={SPEAKER_SINK}.monitor",
                "--file-format=wav",
                "--rate=48000",
                "--channels=1",
                "--latency-msec=20",
                str(path),
            ],
            env=os.environ | self.environment,
        )
        time.sleep(0.3)
        try:
            yield
        finally:
            time.sleep(0.2)
            recorder.terminate()
            recorder.wait(timeout=10)

    def pactl(self, *arguments: str) -> str:
        """Run pactl against this server."""
        done = subprocess.run(
            ["pactl", *arguments],
            env=os.environ | self.environment,
            check=True,
            capture_output=True,
            text=True,
            timeout=20,
        )
        return done.stdout.strip()

    def add_sink(self, name: str) -> None:
        """Plug a null sink in, and with it its monitor as a microphone."""
        self.modules[name] = self.pactl("load-module", "module-null-sink", f"sink_name={name}", "rate=48000")

    def remove_sink(self, name: str) -> None:
        """Pull a null sink out."""
        self.pactl("unload-module", self.modules.pop(name))


def why_not() -> str | None:
    """Why no PulseAudio test can run on this machine, or None if it can."""
    missing = [tool for tool in ("pulseaudio", "pactl", "paplay", "parecord") if not shutil.which(tool)]
    if missing:
        return f"PulseAudio is not installed ({', '.join(missing)} missing)"
    try:
        import sounddevice  # noqa: F401
    except (ImportError, OSError) as error:
        return f"PortAudio cannot be loaded ({error})"
    plugin = subprocess.run(
        ["find", "/usr/lib", "-name", "libasound_module_pcm_pulse.so"], capture_output=True
    )
    if not plugin.stdout:
        return "the bridge from ALSA to PulseAudio (libasound2-plugins) is not installed"
    return None


@contextlib.contextmanager
def pulse_server() -> Iterator[PulseServer]:
    """A private server with both sinks; skips the test where there can be none."""
    reason = why_not()
    if reason:
        pytest.skip(reason)
    with tempfile.TemporaryDirectory(prefix="vl-pulse-") as folder:
        socket = f"{folder}/native"
        environment = {
            "PULSE_SERVER": f"unix:{socket}",
            "PULSE_RUNTIME_PATH": folder,
            "PULSE_STATE_PATH": folder,
            "PULSE_COOKIE": f"{folder}/cookie",
            "PULSE_SOURCE": f"{MICROPHONE_SINK}.monitor",
            "PULSE_SINK": SPEAKER_SINK,
        }
        process = subprocess.Popen(
            [
                "pulseaudio",
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--log-target=null",
                "-L",
                f"module-native-protocol-unix auth-anonymous=1 socket={socket}",
            ],
            env=os.environ | environment | {"HOME": folder, "XDG_RUNTIME_DIR": folder},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        server = PulseServer(environment)
        try:
            _wait_until_up(server, process)
            server.add_sink(MICROPHONE_SINK)
            server.add_sink(SPEAKER_SINK)
            yield server
        finally:
            process.terminate()
            process.wait(timeout=10)


def _wait_until_up(server: PulseServer, process: subprocess.Popen[bytes]) -> None:
    for _ in range(50):
        if process.poll() is not None:
            pytest.skip("PulseAudio does not start on this machine")
        try:
            server.pactl("info")
            return
        except subprocess.CalledProcessError:
            time.sleep(0.1)
    pytest.skip("PulseAudio does not answer on this machine")


@contextlib.contextmanager
def pulse_environment(server: PulseServer) -> Iterator[None]:
    """This process uses the server; PortAudio must be (re)started within."""
    before = {name: os.environ.get(name) for name in server.environment}
    os.environ.update(server.environment)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
