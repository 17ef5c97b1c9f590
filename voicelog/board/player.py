"""Plays a sound file; the sound library is loaded only when something is played."""

from __future__ import annotations

from pathlib import Path

from voicelog.errors import VoicelogError


def play(path: Path) -> None:
    """Play `path` to its end.

    Raises:
        VoicelogError: there is no sound library, no output device, or the file cannot be read.
    """
    try:
        import sounddevice
    except OSError as error:
        raise VoicelogError(
            "no sound library", todo="install PortAudio (Debian: libportaudio2) to play clips"
        ) from error
    import soundfile

    try:
        samples, rate = soundfile.read(path, dtype="float32")
    except (OSError, soundfile.LibsndfileError) as error:
        raise VoicelogError("cannot be read", where=str(path)) from error
    try:
        sounddevice.play(samples, rate)
        sounddevice.wait()
    except sounddevice.PortAudioError as error:
        raise VoicelogError(f"cannot play: {error}", todo="check the sound output") from error
