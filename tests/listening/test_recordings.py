"""Recordings of every kind come out as the same 16 kHz mono chunks."""

from __future__ import annotations

import os
import resource
import struct
import subprocess
import sys
import tracemalloc
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from voicelog.errors import VoicelogError
from voicelog.listening import CHUNK_SAMPLES, RATE, Chunk, Paced, Recording

RATES = (8_000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000)


def tone(rate: int, channels: int, seconds: float = 1.23) -> np.ndarray:
    """A different voice-band chord in each channel, peak below 0.5."""
    t = np.arange(round(seconds * rate)) / rate
    columns = [
        0.3 * np.sin(2 * np.pi * (300 + 130 * c) * t) + 0.1 * np.sin(2 * np.pi * 1_700 * t)
        for c in range(channels)
    ]
    return np.stack(columns, axis=1)


def heard(path: Path) -> np.ndarray:
    return np.concatenate([chunk.samples for chunk in Recording(path)])


def reference(path: Path) -> np.ndarray:
    """The same by soundfile and soxr in one go: the libraries are the outside check."""
    data, rate = soundfile.read(path, dtype="float32", always_2d=True)
    mono = data.mean(axis=1)
    return mono if rate == RATE else soxr.resample(mono, rate, RATE)


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("channels", [1, 2, 3, 5, 6])
@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE", "ULAW"])
def test_every_wav_equals_the_reference(tmp_path: Path, rate: int, channels: int, subtype: str) -> None:
    path = tmp_path / "x.wav"
    soundfile.write(path, tone(rate, channels), rate, subtype=subtype)
    ours, theirs = heard(path), reference(path)
    assert abs(len(ours) - len(theirs)) <= 1
    n = min(len(ours), len(theirs))
    assert np.max(np.abs(ours[:n] / 32768.0 - theirs[:n])) < 2e-4


@pytest.mark.parametrize("subtype", ["PCM_S8", "PCM_16", "PCM_24"])
@pytest.mark.parametrize(("rate", "channels"), [(8_000, 1), (44_100, 3), (96_000, 6)])
def test_every_flac_equals_the_reference(tmp_path: Path, rate: int, channels: int, subtype: str) -> None:
    path = tmp_path / "x.flac"
    soundfile.write(path, tone(rate, channels), rate, subtype=subtype)
    ours, theirs = heard(path), reference(path)
    n = min(len(ours), len(theirs))
    assert abs(len(ours) - len(theirs)) <= 1
    assert np.max(np.abs(ours[:n] / 32768.0 - theirs[:n])) < 2e-4


def test_extensible_wav(tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    soundfile.write(path, tone(48_000, 2), 48_000, subtype="PCM_24", format="WAVEX")
    # Format tag 0xFFFE is WAVE_FORMAT_EXTENSIBLE (Microsoft, mmreg.h).
    assert struct.unpack("<H", path.read_bytes()[20:22]) == (0xFFFE,)
    assert np.max(np.abs(heard(path) / 32768.0 - reference(path))) < 2e-4


def test_16_bit_at_16_khz_passes_unchanged(tmp_path: Path) -> None:
    samples = np.random.default_rng(3).integers(-32768, 32768, 40_000).astype(np.int16)
    soundfile.write(tmp_path / "x.wav", samples, RATE, subtype="PCM_16")
    np.testing.assert_array_equal(heard(tmp_path / "x.wav"), samples)


def test_chunks_are_100_ms_and_follow_each_other(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "x.wav", tone(44_100, 1, 2.345), 44_100)
    chunks = list(Recording(tmp_path / "x.wav"))
    assert {len(c.samples) for c in chunks[:-1]} == {CHUNK_SAMPLES}
    assert [round(c.start_s, 6) for c in chunks] == [round(i / 10, 6) for i in range(len(chunks))]
    # 0.3 and 0.1 amplitude sines: power 0.045 + 0.005, 10 log10 0.05 = -13.01 dBFS.
    assert chunks[5].level_dbfs == pytest.approx(-13.01, abs=0.1)


def test_clipping_is_seen_in_its_chunk_and_a_loud_sine_is_none(tmp_path: Path) -> None:
    t = np.arange(48_000 * 2) / 48_000
    sound = 0.99 * np.sin(2 * np.pi * 440 * t)
    sound[48_000:52_000] = np.clip(3 * sound[48_000:52_000], -1, 1)
    soundfile.write(tmp_path / "x.wav", sound, 48_000)
    flags = [c.clipped for c in Recording(tmp_path / "x.wav")]
    assert [i for i, flag in enumerate(flags) if flag] == [10]


def test_float_beyond_full_scale_and_no_numbers_do_no_harm(tmp_path: Path) -> None:
    sound = np.zeros(16_000, np.float32)
    sound[100:200] = 4.0
    sound[300:400] = np.nan
    sound[500:600] = -np.inf
    soundfile.write(tmp_path / "x.wav", sound, RATE, subtype="FLOAT")
    samples = heard(tmp_path / "x.wav")
    assert (samples[100:200] == 32767).all()
    assert (samples[300:400] == 0).all()
    assert (samples[500:600] == -32768).all()


def test_other_free_formats_are_read_too(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "x.ogg", tone(48_000, 1), 48_000, format="OGG", subtype="OPUS")
    assert len(heard(tmp_path / "x.ogg")) == pytest.approx(1.23 * RATE, abs=400)


def bad(path: Path) -> str:
    with pytest.raises(VoicelogError) as caught:
        list(Recording(path))
    line = caught.value.line()
    assert "\n" not in line
    assert str(path) in line
    return line


def test_bad_files_end_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "text.wav").write_text("this is no sound\n" * 50)
    (tmp_path / "noise.flac").write_bytes(bytes(range(256)) * 30)
    soundfile.write(tmp_path / "no_samples.wav", np.zeros(0), RATE)
    soundfile.write(tmp_path / "no_samples.flac", np.zeros(0), RATE)
    soundfile.write(tmp_path / "slow.wav", np.zeros(100), 200)
    assert "no such file" in bad(tmp_path / "missing.wav")
    assert "is a folder" in bad(tmp_path)
    assert "empty" in bad(tmp_path / "empty.wav")
    assert "no sound file" in bad(tmp_path / "text.wav")
    assert "no sound file" in bad(tmp_path / "noise.flac")
    assert "holds no sound" in bad(tmp_path / "no_samples.wav")
    assert "empty" in bad(tmp_path / "no_samples.flac")  # libsndfile writes no byte
    assert "200 Hz" in bad(tmp_path / "slow.wav")


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="file permissions of this kind exist on POSIX only")
def test_an_unreadable_file_ends_in_one_line(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "x.wav", np.zeros(100), RATE)
    (tmp_path / "x.wav").chmod(0)
    root = os.geteuid() == 0
    if root:
        for folder in (tmp_path, *tmp_path.parents):
            if folder.stat().st_uid == 0 and folder.name.startswith(("pytest-", "popen-", "test_")):
                folder.chmod(0o755)
        os.seteuid(65534)
    try:
        assert "cannot be read" in bad(tmp_path / "x.wav")
    finally:
        if root:
            os.seteuid(0)


@pytest.mark.parametrize("ending", ["wav", "flac"])
def test_a_truncated_file_gives_what_is_there_and_warns(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"x.{ending}"
    sound = np.random.default_rng(1).integers(-9000, 9000, 60_000).astype(np.int16)
    soundfile.write(path, sound, RATE)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2 + 1])
    recording = Recording(path)
    samples = np.concatenate([c.samples for c in recording])
    assert 0.4 * len(sound) < len(samples) < 0.51 * len(sound)
    np.testing.assert_array_equal(samples, sound[: len(samples)])
    assert len(recording.warnings) == 1
    assert "what is there is used" in recording.warnings[0]


def test_a_wav_streamed_without_its_size_is_whole(tmp_path: Path) -> None:
    """Programs that write to a pipe leave 0xFFFFFFFF as the size."""
    path = tmp_path / "x.wav"
    soundfile.write(path, np.ones(8_000, np.int16), RATE)
    raw = bytearray(path.read_bytes())
    raw[4:8] = raw[40:44] = b"\xff\xff\xff\xff"
    path.write_bytes(raw)
    recording = Recording(path)
    assert sum(len(c.samples) for c in recording) == 8_000
    assert recording.warnings == []


def test_stop_ends_the_iteration(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "x.wav", np.zeros(RATE * 5), RATE)
    recording = Recording(tmp_path / "x.wav")
    taken = 0
    for chunk in recording:
        taken += 1
        if chunk.start_s >= 1.0:
            recording.stop()
    assert taken == 11


def test_paced_delivers_no_chunk_before_it_was_spoken(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "x.wav", np.zeros(RATE), RATE)
    now = [50.0]

    def sleep(seconds: float) -> None:
        now[0] += seconds

    chunks: list[tuple[Chunk, float]] = []
    for chunk in Paced(Recording(tmp_path / "x.wav"), clock=lambda: now[0], sleep=sleep):
        chunks.append((chunk, now[0] - 50.0))
    assert all(at == pytest.approx(chunk.end_s) for chunk, at in chunks)
    assert len(chunks) == 10


def test_memory_stays_flat_over_a_long_file(tmp_path: Path) -> None:
    """Five minutes of 48 kHz stereo (58 MB of int16) pass through a few megabytes."""
    path = tmp_path / "long.wav"
    minute = (np.random.default_rng(2).normal(scale=0.05, size=(48_000 * 60, 2)) * 32767).astype(np.int16)
    with soundfile.SoundFile(path, "w", 48_000, 2, "PCM_16") as file:
        for _ in range(5):
            file.write(minute)
    del minute
    tracemalloc.start()
    total = sum(len(chunk.samples) for chunk in Recording(path))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    path.unlink()
    assert total == 5 * 60 * RATE
    assert peak < 4_000_000


LONG_STREAM = """
import resource
import numpy as np
from voicelog.listening import Chunk, Segmenter
from voicelog.listening.levels import rms_dbfs

rng = np.random.default_rng(5)
pieces = [(rng.normal(scale=a, size=1600) * 32767).astype(np.int16) for a in (0.001, 0.05, 0.1)]
segmenter = Segmenter()

def run(start, seconds):
    count = 0
    for i in range(start * 10, (start + seconds) * 10):
        samples = pieces[i // 7 % 3]
        count += len(segmenter.feed(Chunk(samples, i / 10, rms_dbfs(samples))))
    return count

run(0, 120)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
run(120, 600)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


@pytest.mark.skipif(sys.platform == "darwin", reason="ru_maxrss is bytes there, kilobytes here")
def test_ten_minutes_through_the_segmenter_in_flat_memory() -> None:
    assert resource.getpagesize() > 0
    done = subprocess.run([sys.executable, "-c", LONG_STREAM], capture_output=True, text=True, check=True)
    assert int(done.stdout) < 8_000  # kilobytes beyond those of the first two minutes
