"""Commits utterances as fast as it can and prints an accept line after each: something to kill.

python -m tests.journal.driver LOG [UTTERANCES]
"""

from __future__ import annotations

import json
import sys

import numpy as np

from voicelog.jobs.logbook import Logbook
from voicelog.journal.clips import Clips
from voicelog.journal.events import DentOpened, Noted
from voicelog.journal.store import Draft

from .making import heard, open_job, slot, undo


def main(path: str, utterances: int) -> None:
    log = Logbook.open(path)
    clips = Clips.beside(path)
    job = log.state.current or open_job(log)
    sounds = np.random.default_rng(log.state.utterances)
    for _ in range(utterances):
        number = log.state.utterances + 1
        clip = None
        if number % 4 == 0:
            clip = clips.put(sounds.integers(-9000, 9000, 800, dtype=np.int16))
        dent = max(log.state.jobs[job].dents, default=0) + 1
        if dent > 60:
            job, dent = open_job(log), 1
            number = log.state.utterances + 1
        slots = {"panel": slot("roof"), "length_mm": slot(5 + number % 190)}
        body = heard(number, f"roof {5 + number % 190} mil", clip, **slots)
        log.commit([Draft(body, job), Draft(DentOpened(dent), job), Draft(Noted(dent, slots), job)])
        if number % 7 == 0:
            undo(log)
        assert log.trouble is None, log.trouble
        print(json.dumps({"utterance": number, "words": body.words, "decision": "accepted"}), flush=True)
    log.close()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 1_000_000)
