"""Sound out: tones, spoken read-back, and silence where that is wanted."""

from voicelog.answering.answerer import Answerer, SilentAnswerer, SpeakerAnswerer, open_answerer
from voicelog.answering.duration import digit_by_digit, spoken_seconds
from voicelog.answering.tones import Sound
from voicelog.sound.player import Player

__all__ = [
    "Answerer",
    "Player",
    "SilentAnswerer",
    "Sound",
    "SpeakerAnswerer",
    "digit_by_digit",
    "open_answerer",
    "spoken_seconds",
]
