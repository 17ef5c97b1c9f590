"""What an engine says it heard: plain records without any engine behind them."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Alternative:
    """Another thing that may have been said."""

    words: str
    confidence: float
    """0 to 1, on the same scale as `Hypothesis.confidence`."""


@dataclass(frozen=True)
class Hypothesis:
    """The answer of an engine to one segment of sound.

    `words` is empty when nothing of the grammar was heard.
    """

    words: str
    confidence: float = 1.0
    """0 to 1: the calibrated chance that `words` is what was said."""
    alternatives: tuple[Alternative, ...] = ()
    """Most likely first; never holds `words` itself."""
    for_us: float = 1.0
    """0 to 1: the calibrated chance that this was a sentence of the grammar at all."""
    engine: str = ""
    """Name and version, as in "pocketsphinx 5.1.1"; "typed" for typed words."""
    weighed: bool = False
    """Every other sentence that may have been said is among the alternatives: nothing else needs doubt."""
    heard: str = ""
    """What the engine wrote without the grammar; empty where it cannot."""
    scores: dict[str, float] = field(default_factory=dict)
    """Raw scores behind the confidence, for benchmarks and calibration."""
