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

    folder: str
    environment: dict[str, str]
    process: subprocess.Popen[bytes] | None = None
    silence: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def start(self) -> None:
        """Start the server and its two sinks; skips the test if it cannot be started."""
        own_home = {"HOME": self.folder, "XDG_RUNTIME_DIR": self.folder}
        self.process = subprocess.Popen(
            [
                "pulseaudio",
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--log-target=null",
                "-L",
                f"module-native-protocol-unix auth-anonymous=1 socket={self.folder}/native",
                "-L",
                f"module-null-sink sink_name={MICROPHONE_SINK} rate=48000",
                "-L",
                f"module-null-sink sink_name={SPEAKER_SINK} rate=48000",
            ],
            env=os.environ | self.environment | own_home,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for _ in range(50):
            if self.process.poll() is not None:
                pytest.skip("PulseAudio does not start on this machine")
            try:
                self.pactl("info")
                self._keep_awake()
                return
            except subprocess.CalledProcessError:
                time.sleep(0.1)
        pytest.skip("PulseAudio does not answer on this machine")

    def _keep_awake(self) -> None:
        # An idle null sink renders two seconds of silence at a time, which
        # would delay the start of every recording by as much.
        for sink in (MICROPHONE_SINK, SPEAKER_SINK):
            with Path("/dev/zero").open("rb") as zero:
                process = subprocess.Popen(
                    ["pacat", "--playback", f"--device={sink}", "--latency-msec=20"],
                    stdin=zero,
                    env=os.environ | self.environment,
                    stderr=subprocess.DEVNULL,
                )
            self.silence.append(process)

    def stop(self) -> None:
        """Stop the server, as when a device is lost."""
        running = [*self.silence, self.process] if self.process else self.silence
        for process in running:
            process.terminate()
            process.wait(timeout=10)
        self.silence, self.process = [], None

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
        server = PulseServer(
            folder,
            {
                "PULSE_SERVER": f"unix:{folder}/native",
                "PULSE_RUNTIME_PATH": folder,
                "PULSE_STATE_PATH": folder,
                "PULSE_COOKIE": f"{folder}/cookie",
                "PULSE_SOURCE": f"{MICROPHONE_SINK}.monitor",
                "PULSE_SINK": SPEAKER_SINK,
            },
        )
        try:
            server.start()
            yield server
        finally:
            server.stop()


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
