"""Fits `voicelog/recognition/calibration.toml`: `python -m tests.speech.calibrate ROWS.json...`.

The rows come from `python -m tests.speech.benchmark ... --rows ROWS.json`, run on recordings
for tuning only (the first hundred orders, the tuning part of `tests/speech/trade`, clean and
with noise, and sound that is not for us).  Prints the sections to put into the file.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

RIGHT = {"pocketsphinx": ("worst_word", "phones_per_frame"), "vosk": ("least_word",)}
"""What tells whether the words are right; those of the neural engine: `tests.speech.weights`."""
FOR_US = {
    "neural": ("off", "short", "behind"),
    "pocketsphinx": ("phones_per_frame", "acoustic_per_frame"),
    "vosk": ("least_word",),
}
"""What tells whether a sentence of the grammar was said at all."""
RIDGE = 1.0
"""Strength of the pull towards zero, on scores scaled to unit variance."""
STEPS = 50

Values = NDArray[np.float64]


def fitted(scores: Values, truth: Values, weight: Values) -> Values:
    """Factors of a logistic model, the constant last, by Newton steps."""
    mean, spread = scores.mean(axis=0), scores.std(axis=0) + 1e-9
    design = np.column_stack([(scores - mean) / spread, np.ones(len(scores))])
    pull = np.diag([RIDGE] * scores.shape[1] + [0.0])
    factors = np.zeros(design.shape[1])
    for _ in range(STEPS):
        chance = 1 / (1 + np.exp(-design @ factors))
        slope = design.T @ (weight * (chance - truth)) + pull @ factors
        curve = (design.T * (weight * chance * (1 - chance))) @ design + pull
        factors -= np.linalg.solve(curve + 1e-9 * np.eye(len(curve)), slope)
    plain = factors[:-1] / spread
    return np.append(plain, factors[-1] - plain @ mean)


def area(scores: Values, truth: Values) -> float:
    """Area under the curve of true against false positives."""
    good, bad = scores[truth > 0], scores[truth == 0]
    return float((good[:, None] > bad).mean() + (good[:, None] == bad).mean() / 2)


def section(name: str, rows: list[dict[str, Any]], names: tuple[str, ...], truth: Values) -> str:
    """One fitted model as TOML."""
    scores = np.array([[row["scores"][key] for key in names] for row in rows])
    for key, column in zip(names, scores.T, strict=True):
        print(f"# {name}: {key}: area under the curve {area(column, truth):.3f}")
    factors = fitted(scores, truth, np.ones(len(rows)))
    chance = 1 / (1 + np.exp(-(scores @ factors[:-1] + factors[-1])))
    print(
        f"# {name}: {len(rows)} answers, {int((truth == 0).sum())} wrong, together {area(chance, truth):.3f}"
    )
    lines = [f"[{name}]", f"constant = {factors[-1]:.4f}"]
    return "\n".join(lines + [f"{key} = {value:.5f}" for key, value in zip(names, factors, strict=False)])


def main() -> None:
    """Fit both models of an engine."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rows", type=Path, nargs="+")
    parser.add_argument("--engine", default="neural")
    given = parser.parse_args()
    rows = [
        row for path in given.rows for row in json.loads(path.read_text(encoding="utf-8")) if row["heard"]
    ]
    ours = [row for row in rows if row["for_us"]]
    if given.engine in RIGHT:
        right = np.array([float(row["right"]) for row in ours])
        print(section(f"{given.engine}.right", ours, RIGHT[given.engine], right), end="\n\n")
    meant = [row for row in rows if row["right"] or not row["for_us"]]
    truth = np.array([float(row["for_us"]) for row in meant])
    print(section(f"{given.engine}.for_us", meant, FOR_US[given.engine], truth))


if __name__ == "__main__":
    main()
