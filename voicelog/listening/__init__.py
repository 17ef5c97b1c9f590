"""Sound in: recordings and the microphone as one stream of chunks, cut into utterances."""

from voicelog.listening.gate import HalfDuplexGate
from voicelog.listening.microphone import Microphone, MicrophoneState
from voicelog.listening.recordings import Paced, Recording
from voicelog.listening.segmenter import (
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
from voicelog.sound.format import CHUNK_S, CHUNK_SAMPLES, RATE, Chunk, Samples, Source

__all__ = [
    "CHUNK_S",
    "CHUNK_SAMPLES",
    "RATE",
    "Chunk",
    "HalfDuplexGate",
    "Microphone",
    "MicrophoneState",
    "Paced",
    "Recording",
    "Samples",
    "Segment",
    "Segmenter",
    "SegmenterSettings",
    "Source",
    "SpeechAudio",
    "SpeechEnded",
    "SpeechEvent",
    "SpeechPaused",
    "SpeechResumed",
    "SpeechStarted",
    "events_of",
    "segments_of",
]
