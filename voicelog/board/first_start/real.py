"""The parts of the first start made of the real ear, card and settings file."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from voicelog.board.first_start.parts import Choices, Parts
from voicelog.errors import VoicelogError
from voicelog.estimate.card import default_card, load_card
from voicelog.listening import Chunk, Microphone, Samples, Segmenter, Source, SpeechEnded
from voicelog.listening.levels import measure
from voicelog.recognition.rehearsal import rehearse
from voicelog.session.reports import Feed, Level, Partial, Progress
from voicelog.sound import portaudio

TRY_CHUNKS = 60
"""A microphone is tried for so many chunks of 100 ms."""
PHRASE_CHUNKS = 120
"""A phrase is waited for so many chunks."""

Opened = Callable[[str], Source]
"""A device's name (empty for the system's default) to its sound."""
Decode = Callable[[Samples], str]
"""16 kHz mono int16 samples to the words heard."""
Keep = Callable[[Sequence[tuple[str, Samples]]], None]
"""Keeps (words said, 16 kHz mono int16 samples)."""


def real_parts(
    save: Callable[[Choices], None],
    phrases: Sequence[str],
    decoder: Callable[[], Decode],
    open_source: Opened | None = None,
    keep: Keep = lambda recorded: None,
) -> Parts:
    """Everything the first start needs.

    Args:
        save: writes the settings.
        phrases: what is said in the rehearsal.
        decoder: opens the engine; called when the rehearsal begins.
        open_source: gives the sound of a device; None uses the microphone.
        keep: takes the recordings of a rehearsal, (words said, samples).
    """
    opened = open_source or _microphone
    return Parts(
        devices=microphones,
        try_microphone=partial(try_source, opened),
        phrases=phrases,
        rehearse=partial(rehearse_phrases, opened, phrases, decoder, keep),
        check_card=check_card,
        save=save,
    )


def microphones() -> list[str]:
    """Names of the devices that can record; none where there is no sound library."""
    try:
        return [device.name for device in portaudio.devices(portaudio.load(), "input")]
    except VoicelogError:
        return []


def _microphone(device: str) -> Source:
    return Microphone(device or None)


def _heard(source: Source, feed: Feed, stop: threading.Event, most: int) -> Iterator[Chunk]:
    """At most so many chunks, each with its level reported."""
    for number, chunk in enumerate(source, 1):
        feed(Level(chunk.level_dbfs, chunk.clipped))
        yield chunk
        if stop.is_set() or number >= most:
            source.stop()
            return


def try_source(opened: Opened, device: str, feed: Feed, stop: threading.Event) -> list[str]:
    """Listen for some seconds; what is wrong with the sound, one line each."""
    return measure(_heard(opened(device), feed, stop, TRY_CHUNKS)).findings()


def rehearse_phrases(
    opened: Opened,
    phrases: Sequence[str],
    decoder: Callable[[], Decode],
    keep: Keep,
    device: str,
    feed: Feed,
    stop: threading.Event,
) -> list[str]:
    """Ask for each phrase, say what was heard, and sum up."""
    decode = decoder()
    asked = 0

    def record(phrase: str) -> Samples | None:
        nonlocal asked
        if stop.is_set():
            raise VoicelogError("the rehearsal was stopped")
        feed(Progress(asked, len(phrases), phrase))
        asked += 1
        sound = _phrase(_heard(opened(device), feed, stop, PHRASE_CHUNKS))
        if sound is None:
            feed(Partial(""))
        return sound

    def told(sound: Samples) -> str:
        words = decode(sound)
        feed(Partial(words))
        return words

    report, recorded = rehearse(phrases, record, told)
    keep(recorded)
    feed(Progress(len(phrases), len(phrases)))
    return report.lines()


def _phrase(chunks: Iterator[Chunk]) -> Samples | None:
    """The first utterance in the sound; None where nobody spoke."""
    segmenter = Segmenter()
    for chunk in chunks:
        for event in segmenter.feed(chunk):
            if isinstance(event, SpeechEnded):
                return event.segment.samples
    ended = [event for event in segmenter.finish() if isinstance(event, SpeechEnded)]
    return ended[0].segment.samples if ended else None


def check_card(path: str, country: str) -> str:
    """One line about a card; an empty path is the starting card of the country.

    Raises:
        VoicelogError: the card cannot be read or has faults.
    """
    card = load_card(path) if path else default_card(country)
    name = Path(path).name if path else f"the starting card of {country} (invented figures)"
    return f"{name}: valid, {card.currency}"
