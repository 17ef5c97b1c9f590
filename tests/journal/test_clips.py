"""Clips: lossless, by hash, private, purged."""

from __future__ import annotations

import hashlib
import os
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.journal.clips import Clips
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import heard

TONE = (9000 * np.sin(np.arange(16_000) * 2 * np.pi * 440 / 16_000)).astype(np.int16)


@pytest.fixture
def clips(tmp_path: Path) -> Clips:
    return Clips(tmp_path / "day.journal.clips")


@settings(deadline=None, max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.integers(-32768, 32767), min_size=1, max_size=300))
def test_what_comes_out_is_what_went_in(clips: Clips, values: list[int]) -> None:
    samples = np.array(values, dtype=np.int16)
    name = clips.put(samples)
    assert name == hashlib.sha256(b"".join(v.to_bytes(2, "little", signed=True) for v in values)).hexdigest()
    assert np.array_equal(clips.get(name), samples)


def test_the_file_is_flac(clips: Clips) -> None:
    """RFC 9639, section 6: a FLAC stream begins with "fLaC"."""
    path = clips.path(clips.put(TONE))
    assert path.read_bytes()[:4] == b"fLaC"
    found = soundfile.info(path)
    assert (found.samplerate, found.channels, found.subtype) == (16_000, 1, "PCM_16")
    assert path.stat().st_size < TONE.nbytes / 2
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == clips.folder.stat().st_mode & 0o777 == 0o700


def test_the_same_sound_is_kept_once(clips: Clips) -> None:
    assert clips.put(TONE) == clips.put(TONE.copy())
    assert len(list(clips.names())) == 1


@pytest.mark.parametrize("wrong", [TONE.astype(np.float32), TONE.reshape(2, -1)])
def test_other_shapes_are_refused(clips: Clips, wrong: np.ndarray) -> None:  # type: ignore[type-arg]
    with pytest.raises(TypeError):
        clips.put(wrong)


def test_silence_of_no_length_is_refused(clips: Clips) -> None:
    with pytest.raises(ValueError, match="at least one"):
        clips.put(TONE[:0])


def test_purge_after_thirty_days(clips: Clips) -> None:
    now = time.time()
    ages = {clips.put(TONE[: 100 + age]): age for age in (0, 29, 31, 400)}
    for name, age in ages.items():
        os.utime(clips.path(name), (now - age * 86_400,) * 2)
    assert clips.purge(now=now) == 2
    assert {ages[name] for name in clips.names()} == {0, 29}
    assert clips.purge(7, now=now) == 1


def test_a_clock_that_jumped_deletes_nothing(clips: Clips) -> None:
    """Two months ahead: nothing goes until that clock has gone on for a day."""
    now, day = time.time(), 86_400.0
    clips.put(TONE)
    assert clips.purge(now=now + 60 * day) is None
    assert clips.purge(now=now + 60.5 * day) is None
    assert clips.purge(now=now) == 0  # set right again
    assert clips.purge(now=now + 60.9 * day) is None
    assert len(list(clips.names())) == 1
    assert clips.purge(now=now + 62 * day) == 1


@pytest.mark.parametrize("days", [0, -1, float("nan")])
def test_sound_is_kept_for_a_day_at_least(clips: Clips, days: float) -> None:
    clips.put(TONE)
    with pytest.raises(ValueError, match="a day at least"):
        clips.purge(days)
    assert len(list(clips.names())) == 1


def test_sound_said_again_is_kept_anew(clips: Clips) -> None:
    name = clips.put(TONE)
    os.utime(clips.path(name), (0, 0))
    clips.put(TONE)
    assert clips.purge() == 0


def test_damaged_and_missing_clips(clips: Clips) -> None:
    name = clips.put(TONE)
    with pytest.raises(VoicelogError, match="not kept any more"):
        clips.get("0" * 64)
    soundfile.write(clips.path(name), TONE // 2, 16_000, format="FLAC")
    with pytest.raises(VoicelogError, match="hash differs"):
        clips.get(name)
    clips.path(name).write_bytes(b"fLaC")
    with pytest.raises(VoicelogError, match="damaged"):
        clips.get(name)
    for bad in ("", "../../etc/passwd", "g" * 64):
        with pytest.raises(ValueError, match="no hash"):
            clips.path(bad)


def test_a_journal_without_its_clips(path: Path) -> None:
    clips = Clips.beside(path)
    with Logbook.open(path) as log:
        name = clips.put(TONE)
        log.commit([Draft(heard(1, clip=name))])
        kept = clips.put(TONE[:5000])
        log.commit([Draft(heard(2, clip=kept))])
    clips.remove([name])
    with Logbook.open(path) as log:
        assert [event.body.clip for event in log.heards()] == [name, kept]  # type: ignore[attr-defined]
    report = verify(path)
    assert report.ok
    assert (report.clips, report.clips_gone) == (1, 1)
    soundfile.write(clips.path(kept), TONE, 16_000, format="FLAC")
    assert any("hash differs" in problem for problem in verify(path).problems)
