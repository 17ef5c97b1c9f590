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
                print("", file=answers)
            except Exception as error:  # as above
                print(f"{type(error).__name__}: {error}".replace("\n", " "), file=answers)


if __name__ == "__main__":
    main()
