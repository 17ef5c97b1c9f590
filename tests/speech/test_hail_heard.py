"""A hail panel spoken by a synthetic voice and heard by the engine that ships, through to the record."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.actions.conftest import new_talk
from tests.speech.voices import say

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"
SAID = ("roof steel forty at ten", "twenty at twenty five oversize", "roof done")


def test_a_hail_panel_is_heard_for_real() -> None:
    pytest.importorskip("moonshine_voice")
    from voicelog.recognition.open import open_engine

    try:
        sounds = [np.asarray(say("natural:bf_emma", words), dtype=np.int16) for words in SAID]
    except (OSError, RuntimeError, ValueError) as error:
        pytest.skip(f"the voice is not here: {error}")
    engine, talk = open_engine("neural", grammar=GRAMMAR), new_talk()
    for sound in sounds:
        talk.dialogue.take(engine.decode(sound))
    dents = talk.dents()
    assert [(d["panel"], d["count"], d.get("length_mm"), d.get("oversize")) for d in dents] == [
        ("roof", 40, 10, None), ("roof", 20, 20, None), ("roof", 5, None, True),
    ]  # fmt: skip
    assert all(dent.get("done") for dent in dents)
