"""Text to speech in a process of its own: `python -m voicelog.answering.speech_worker`.

One request a line on standard input, `{"text": ..., "path": ..., "rate": ...}`
(path: the WAV file to write; rate: words a minute); one answer a line on
standard output, empty when done, else what went wrong.

The speech libraries print, hold locks and may abort; here that harms nobody.
"""

from __future__ import annotations

import json
import os
import sys
import time
import wave

WRITTEN_WITHIN_S = 1.0


def _await_file(path: str) -> None:
    """Wait until the WAV is there as a whole: pyttsx3 may return before it has written it."""
    deadline = time.monotonic() + WRITTEN_WITHIN_S
    while time.monotonic() < deadline:
        try:
            with wave.open(path) as file:
                size = file.getnframes() * file.getnchannels() * file.getsampwidth()
            if 0 < size <= os.path.getsize(path):
                return
        except FileNotFoundError:
            pass
        except (EOFError, wave.Error):
            if sys.platform == "darwin":
                return  # AIFF there, and written before the return
        time.sleep(0.005)


def main() -> None:
    """Serve requests until standard input closes."""
    with os.fdopen(os.dup(1), "w", buffering=1) as answers:
        # pyttsx3 reports to standard output; the protocol must stay clean.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        try:
            import pyttsx3

            engine = pyttsx3.init()
        except Exception as error:  # drivers raise what they like; it is handed on
            print(f"{type(error).__name__}: {error}".replace("\n", " "), file=answers)
            return
        print("", file=answers)
        for line in sys.stdin:
            request = json.loads(line)
            try:
                engine.setProperty("rate", request["rate"])
                engine.save_to_file(request["text"], request["path"])
                engine.runAndWait()
                _await_file(request["path"])
                print("", file=answers)
            except Exception as error:  # as above
                print(f"{type(error).__name__}: {error}".replace("\n", " "), file=answers)


if __name__ == "__main__":
    main()
