"""voicelog: an offline, voice-driven, hands-free job logger for paintless dent repair."""

__version__ = "0.1.0"
