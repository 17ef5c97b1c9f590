"""Where utterances begin and end, on synthetic speech with known times and on generated noise."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from voicelog.errors import VoicelogError
from voicelog.listening import (
    RATE,
    Chunk,
    Recording,
    Segment,
    Segmenter,
    SegmenterSettings,
    SpeechAudio,
    SpeechEnded,
    SpeechEvent,
    SpeechPaused,
    SpeechResumed,
    SpeechStarted,
    events_of,
    segments_of,
)
from voicelog.listening.levels import rms_dbfs

TOLERANCE_S = 0.15
"""The detector looks at 32 ms at a time and lets go of a word some 0.06 s late, 0.11 s at most here."""


class Scripted:
    """Calls a frame speech when its first sample is not zero."""

    def is_speech(self, frame: np.ndarray) -> bool:
        return bool(frame[0] != 0)


def chunked(sound: np.ndarray, size: int = 1600) -> list[Chunk]:
    """Floats of full scale 1.0 as chunks."""
    samples = np.clip(np.rint(sound * 32768), -32768, 32767).astype(np.int16)
    return [
        Chunk(samples[i : i + size], i / RATE, rms_dbfs(samples[i : i + size]))
        for i in range(0, len(samples), size)
    ]


@pytest.mark.parametrize("name", ["three", "at_once", "pause_in_note", "noisy"])
def test_utterances_lie_where_they_were_spoken(
    name: str, data: Path, times: dict[str, list[list[float]]]
) -> None:
    spoken = times[name]
    if name == "pause_in_note":
        spoken = [[spoken[0][0], spoken[-1][1]]]
    found = list(segments_of(Recording(data / f"{name}.flac")))
    assert len(found) == len(spoken)
    for segment, (start, end) in zip(found, spoken, strict=True):
        assert segment.speech_start_s == pytest.approx(start, abs=TOLERANCE_S)
        assert segment.speech_end_s == pytest.approx(end, abs=TOLERANCE_S)
        # The first word is whole: the segment begins before the first sound.
        assert segment.start_s <= max(0.0, start - 0.2)
        assert not segment.cut
        assert not segment.interrupted


def test_samples_are_those_of_the_source(data: Path) -> None:
    whole = np.concatenate([c.samples for c in Recording(data / "three.flac")])
    for segment in segments_of(Recording(data / "three.flac")):
        start, end = round(segment.start_s * RATE), round(segment.end_s * RATE)
        np.testing.assert_array_equal(segment.samples, whole[start:end])


def test_the_last_word_is_whole_when_the_file_ends_with_it(
    data: Path, times: dict[str, list[list[float]]]
) -> None:
    *_, last = segments_of(Recording(data / "at_once.flac"))
    total = sum(len(c.samples) for c in Recording(data / "at_once.flac")) / RATE
    assert last.end_s == pytest.approx(total)
    assert times["at_once"][-1][1] == pytest.approx(total, abs=0.001)


def test_the_silence_that_ends_an_utterance_can_be_set(data: Path) -> None:
    short = segments_of(Recording(data / "pause_in_note.flac"), SegmenterSettings(silence_s=0.25))
    assert len(list(short)) == 2
    with pytest.raises(VoicelogError, match="cannot end an utterance"):
        SegmenterSettings(silence_s=0.0)


def test_end_is_known_within_the_silence_window(data: Path, times: dict[str, list[list[float]]]) -> None:
    """The last event comes at most silence + one chunk + tolerance after the last sound."""
    segmenter = Segmenter()
    ends = []
    for chunk in Recording(data / "three.flac"):
        ends += [chunk.end_s for e in segmenter.feed(chunk) if isinstance(e, SpeechEnded)]
    for at, (_, spoken_end) in zip(ends, times["three"], strict=True):
        assert at - spoken_end <= 1.05 + 0.1 + 0.1


@pytest.mark.parametrize(("quiet_s", "complete", "notes"), [(0.8, False, 1), (0.8, True, 2), (1.2, False, 2)])
def test_a_pause_is_told_and_ends_what_is_complete_sooner(quiet_s: float, complete: bool, notes: int) -> None:
    voiced = np.full(RATE, 0.3)
    sound = np.concatenate([voiced, np.zeros(round(quiet_s * RATE)), voiced, np.zeros(2 * RATE)])
    segmenter, found, told = Segmenter(detector=Scripted()), 0, []
    for chunk in chunked(sound):
        for event in segmenter.feed(chunk):
            found += isinstance(event, SpeechEnded)
            if isinstance(event, SpeechPaused):
                told.append(chunk.end_s)
                if complete:
                    segmenter.complete()
    assert found == notes
    assert told == pytest.approx([1.3, 2.3 + quiet_s], abs=0.11)


def check_protocol(events: Sequence[SpeechEvent]) -> list[Segment]:
    """Started, audio with pauses, ended, in this order; the audio is the segment's."""
    open_audio: list[np.ndarray] | None = None
    paused = False
    found = []
    for event in events:
        if isinstance(event, SpeechStarted):
            assert open_audio is None
            open_audio = []
        elif isinstance(event, SpeechAudio):
            assert open_audio is not None
            open_audio.append(event.samples)
        elif isinstance(event, SpeechPaused | SpeechResumed):
            assert open_audio is not None
            assert paused is isinstance(event, SpeechResumed)
            paused = not paused
        else:
            assert open_audio is not None
            paused = False
            np.testing.assert_array_equal(np.concatenate(open_audio), event.segment.samples)
            found.append(event.segment)
            open_audio = None
    assert open_audio is None
    return found


@settings(deadline=None, max_examples=60)
@given(
    runs=st.lists(st.tuples(st.booleans(), st.integers(1, 120)), min_size=1, max_size=25),
    size=st.sampled_from([160, 700, 1600]),
    extra=st.integers(0, 319),
)
def test_streamed_audio_is_the_segment_and_no_speech_is_lost(
    runs: list[tuple[bool, int]], size: int, extra: int
) -> None:
    sound = np.concatenate([np.full(320 * n, 0.1 if voiced else 0.0) for voiced, n in runs])
    sound = np.concatenate([sound, np.zeros(extra)])
    limits = SegmenterSettings(longest_s=6.0, cut_search_s=2.0)
    found = check_protocol(list(events_of(chunked(sound, size), Segmenter(limits, Scripted()))))
    covered = np.zeros(len(sound), bool)
    for segment in found:
        assert len(segment.samples) <= 6.0 * RATE
        covered[round(segment.start_s * RATE) : round(segment.end_s * RATE)] = True
    at = 0
    for voiced, n in runs:
        if voiced and n >= 8:  # longer than the onset window: surely an utterance
            assert covered[at * 320 : (at + n) * 320].all()
        at += n


def test_an_endless_utterance_is_cut_at_its_quietest_place() -> None:
    sound = np.full(RATE * 30, 0.3)
    sound[RATE * 18 : RATE * 18 + 1600] = 0.001
    events = list(events_of(chunked(sound), Segmenter(detector=Scripted())))
    first, second = check_protocol(events)
    assert first.cut
    assert not second.cut
    assert first.end_s == pytest.approx(18.05, abs=0.05)
    assert second.start_s == first.end_s
    assert len(first.samples) + len(second.samples) == len(sound)


def test_our_own_answer_is_no_note_and_interrupts_one() -> None:
    sound = np.full(RATE * 4, 0.3)
    chunks = [
        Chunk(c.samples, c.start_s, c.level_dbfs, gated=1.0 <= c.start_s < 2.95) for c in chunked(sound)
    ]
    segmenter = Segmenter(detector=Scripted())
    first, second = check_protocol(list(events_of(chunks, segmenter)))
    assert first.interrupted
    assert first.end_s == pytest.approx(1.0)
    assert second.start_s == pytest.approx(3.0)
    assert segmenter.gated_s == pytest.approx(2.0)


def test_lost_sound_interrupts() -> None:
    chunks = chunked(np.full(RATE * 2, 0.3))
    broken = [Chunk(c.samples, c.start_s, c.level_dbfs, broken=i == 10) for i, c in enumerate(chunks)]
    first, second = check_protocol(list(events_of(broken, Segmenter(detector=Scripted()))))
    assert first.interrupted
    assert not second.interrupted
    gap = chunks[:10] + chunks[12:]
    first, second = check_protocol(list(events_of(gap, Segmenter(detector=Scripted()))))
    assert first.interrupted
    assert second.start_s == pytest.approx(1.2)


def test_clipping_is_told_of_its_segment_only() -> None:
    sound = np.concatenate([np.full(RATE, 0.3), np.zeros(2 * RATE), np.full(RATE, 0.3), np.zeros(2 * RATE)])
    chunks = [Chunk(c.samples, c.start_s, c.level_dbfs, clipped=c.start_s == 3.5) for c in chunked(sound)]
    first, second = check_protocol(list(events_of(chunks, Segmenter(detector=Scripted()))))
    assert not first.clipped
    assert second.clipped
    assert first.level == pytest.approx(20 * np.log10(0.3), abs=0.01)


def hum(seconds: float, level_dbfs: float) -> np.ndarray:
    """A compressor: 50 Hz with harmonics, slowly beating, and air noise; invented."""
    rng = np.random.default_rng(11)
    t = np.arange(round(seconds * RATE)) / RATE
    sound = sum(np.sin(2 * np.pi * 49.3 * k * t + k) / k for k in range(1, 13))
    sound = sound * (1 + 0.2 * np.sin(2 * np.pi * 2.1 * t)) + rng.normal(scale=0.3, size=len(t))
    return np.asarray(sound * (10 ** (level_dbfs / 20) / np.sqrt(np.mean(sound**2))))


def impacts(seconds: float, gap_s: float, level: float) -> np.ndarray:
    """Hammer on metal: decaying partials of 0.4 to 3 kHz, 15 ms time constant; invented."""
    sound = np.zeros(round(seconds * RATE))
    t = np.arange(round(0.15 * RATE)) / RATE
    hit = sum(np.sin(2 * np.pi * f * t) for f in (430, 910, 1770, 3100)) / 4 * np.exp(-t / 0.015)
    for at in np.arange(0.5, seconds - 0.2, gap_s):
        i = round(at * RATE)
        sound[i : i + len(hit)] += level * hit
    return sound


@pytest.mark.parametrize("level", [-50.0, -35.0, -25.0])
def test_a_compressor_that_starts_is_soon_taken_for_background(level: float) -> None:
    room = np.random.default_rng(12).normal(scale=0.0005, size=RATE * 40)
    room[RATE * 5 :] += hum(35, level)
    found = list(segments_of(chunked(room)))
    assert sum(s.end_s - s.start_s for s in found) < 5.0
    assert all(s.speech_end_s < 12.0 for s in found)


@pytest.mark.parametrize("gap_s", [1.0, 0.45])
def test_single_blows_begin_no_utterance(gap_s: float) -> None:
    room = np.random.default_rng(13).normal(scale=0.001, size=RATE * 20) + impacts(20, gap_s, 0.8)
    assert list(segments_of(chunked(room))) == []


def test_speech_is_found_in_hum(data: Path, times: dict[str, list[list[float]]]) -> None:
    speech = np.concatenate([c.samples for c in Recording(data / "three.flac")]) / 32768
    lead = hum(len(speech) / RATE + 6, -38.0)
    lead[RATE * 6 :] += speech[: len(lead) - RATE * 6]
    found = [s for s in segments_of(chunked(lead)) if s.speech_start_s > 6.0]
    for start, end in times["three"]:
        covering = [s for s in found if s.start_s <= 6 + start + 0.05 and s.end_s >= 6 + end - 0.1]
        assert covering, f"{start}-{end} is in no segment"


def test_silence_and_an_empty_source_give_nothing() -> None:
    assert list(segments_of(chunked(np.zeros(RATE * 10)))) == []
    assert list(segments_of([])) == []
