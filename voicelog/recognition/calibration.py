"""From the raw scores of a recogniser to a probability, and the thresholds for using it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

DATA = "calibration.toml"
ENGINES = ("neural", "pocketsphinx", "vosk")
"""Engines whose answers are calibrated; typed words are heard by none of them."""


@dataclass(frozen=True)
class Calibration:
    """The calibration of one engine: logistic models and two thresholds.

    A model maps score names to factors; "constant" is added.
    """

    accept: float
    """Confidence from which an answer is accepted without a question."""
    reject: float
    """Confidence below which the sound is taken as not meant for us."""
    right: Mapping[str, float]
    """Chance that the words are what was said, if they were meant for us.

    Of the neural engine: what each score of a sentence counts, in nats.
    """
    for_us: Mapping[str, float]
    """Chance that the sound was a sentence of the grammar at all."""
    alone: Mapping[str, float] = field(default_factory=dict)
    """Chance that the one sentence searched for while asleep was said."""
    found: Mapping[str, float] = field(default_factory=dict)
    """Chance that what was said is among the sentences found; of the neural engine alone."""

    def confidence(self, scores: Mapping[str, float]) -> float:
        """Chance, 0 to 1, that the words were said; `scores` must have every score of the models."""
        return logistic(self.right, scores) * logistic(self.for_us, scores)


def logistic(model: Mapping[str, float], scores: Mapping[str, float]) -> float:
    """1 / (1 + exp(-x)), x being the weighted sum of the scores."""
    total = sum(factor * (1.0 if name == "constant" else scores[name]) for name, factor in model.items())
    return 1 / (1 + math.exp(-max(-50.0, min(50.0, total))))


@cache
def calibration(engine: str) -> Calibration:
    """The calibration of one of `ENGINES`."""
    text = files("voicelog.recognition").joinpath(DATA).read_text(encoding="utf-8")
    return Calibration(**tomllib.loads(text)[engine])
