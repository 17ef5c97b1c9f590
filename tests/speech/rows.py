"""What became of each utterance in a benchmark, and the tables made of it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import jiwer

DECISIONS = ("accepted", "asked", "kept", "rejected")


@dataclass
class Row:
    """What became of one utterance, or of one segment that was none."""

    file: str
    voice: str
    split: str
    level: str
    for_us: bool
    said: str
    heard: str
    right: bool
    decision: str
    confidence: float
    alternatives: list[str]
    alternative_right: bool
    seconds: float
    """Length of the segment."""
    spent_s: float
    """Time at work on it."""
    latency_s: float | None = None
    """From the end of the silence window to the committed event, had the sound come in real time."""
    scores: dict[str, float] = field(default_factory=dict)
    slots: tuple[int, int, int] = (0, 0, 0)
    """Said, said and heard, heard but not said."""
    chances: list[float] = field(default_factory=list)
    """Confidence of each alternative."""
    segments: int = 1
    """Into how many segments it was cut."""
    merged: bool = False
    """Whether its segment holds another utterance too."""
    free: str = ""
    """What was heard without the grammar."""


@dataclass
class Cost:
    """What an engine cost besides."""

    engine: str
    start_s: float = 0.0
    memory_mb: float = 0.0
    sound_s: float = 0.0
    spent_s: float = 0.0
    partials_per_s: list[float] = field(default_factory=list)
    """Changes of the live words in each second of speech, per recording."""
    baseline_s: float = 0.0
    """A fixed piece of arithmetic: how fast the machine was meanwhile."""


def share(part: int, whole: int) -> str:
    """A share in percent with its count."""
    return f"{100 * part / whole:.1f} % ({part}/{whole})" if whole else "none"


def percentile(found: list[float], part: float) -> float:
    """The value below which a part of them lies."""
    return sorted(found)[min(len(found) - 1, int(part * len(found)))]


def report(rows: list[Row]) -> str:
    """The lines of one group of rows."""
    ours = [row for row in rows if row.for_us]
    foreign = [row for row in rows if not row.for_us]
    lines = our_lines(ours) if ours else []
    if foreign:
        counts = ", ".join(f"{name} {sum(row.decision == name for row in foreign)}" for name in DECISIONS)
        minutes = sum(row.seconds for row in foreign) / 60
        lines.append(f"not for us: {len(foreign)} segments of {minutes:.1f} min: {counts}")
    late = [row.latency_s for row in rows if row.latency_s is not None]
    if late:
        half, most = percentile(late, 0.5), percentile(late, 0.95)
        lines.append(f"end of silence window to commit: median {half:.2f} s, 95 % {most:.2f} s")
    return "\n".join(f"  {line}" for line in lines)


def our_lines(ours: list[Row]) -> list[str]:
    """What became of the utterances that were for us."""
    count = len(ours)
    parts = {name: [row for row in ours if row.decision == name] for name in DECISIONS}
    wrong = {name: [row for row in parts[name] if not row.right] for name in DECISIONS}
    accepted, asked = len(parts["accepted"]), len(parts["asked"])
    saved = sum(row.alternative_right for row in wrong["asked"])
    slots, same, more = (sum(row.slots[place] for row in ours) for place in range(3))
    lines = [
        f"right {share(sum(row.right for row in ours), count)}, "
        f"right without a question {share(accepted - len(wrong['accepted']), count)}",
        ", ".join(f"{name} {share(len(parts[name]), count)}" for name in DECISIONS),
        f"silent errors {share(len(wrong['accepted']), accepted)} of accepted",
        f"asked although right {share(asked - len(wrong['asked']), asked)}; right answer among the "
        f"alternatives of a wrong one that was asked {share(saved, len(wrong['asked']))}",
        f"slots right {share(same, slots)}, and {more} heard that were not said",
        f"cut {sum(row.segments > 1 for row in ours)}, merged {sum(row.merged for row in ours)}, "
        f"not found {sum(row.segments == 0 for row in ours)} of {count}",
    ]
    spoken = [row for row in ours if row.said and not row.said.startswith("{")]
    if spoken:
        rate = jiwer.wer([row.said for row in spoken], [row.heard for row in spoken])
        exact = share(sum(row.said == row.heard for row in spoken), len(spoken))
        lines.append(f"word error rate {100 * rate:.1f} %, exact {exact}")
    return lines


def cost_lines(cost: Cost) -> str:
    """What the engine cost."""
    live = ""
    if cost.partials_per_s:
        changes = sum(cost.partials_per_s) / len(cost.partials_per_s)
        live = f"live words changed {changes:.1f} times a second of speech, "
    return (
        f"  real-time factor {cost.spent_s / max(cost.sound_s, 1e-9):.3f} of {cost.sound_s / 60:.1f} min, "
        f"start to listening {cost.start_s:.1f} s, memory {cost.memory_mb:.0f} MB,\n"
        f"  {live}baseline loop {cost.baseline_s:.2f} s"
    )


def voice_table(rows: list[Row]) -> str:
    """One line a voice."""
    lines = [f"  {'voice':32} {'n':>4} right no-quest. asked kept reject. silent cut merged unsaid"]
    for voice in dict.fromkeys(row.voice for row in rows):
        mine = [row for row in rows if row.voice == voice]
        ours = [row for row in mine if row.for_us]
        taken = [row for row in ours if row.decision == "accepted"]
        counts = [sum(row.decision == name for row in ours) for name in DECISIONS[1:]]
        good = sum(row.right for row in taken)
        cut, merged = sum(row.segments > 1 for row in ours), sum(row.merged for row in ours)
        lines.append(f"  {voice:32} {len(ours):4} {sum(row.right for row in ours):5} {good:9} {counts[0]:5} "
                     f"{counts[1]:4} {counts[2]:7} {len(taken) - good:6} {cut:3} {merged:6} "
                     f"{len(mine) - len(ours):6}")  # fmt: skip
    return "\n".join(lines)


def calibration_table(rows: list[Row]) -> str:
    """Stated confidence against the share that was right."""
    bins: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        if row.heard:
            bins[min(9, int(row.confidence * 10))].append(row)
    lines = ["  confidence  answers  mean stated  right"]
    for place in sorted(bins):
        found = bins[place]
        stated = sum(row.confidence for row in found) / len(found)
        lines.append(f"  {place / 10:.1f} - {place / 10 + 0.1:.1f}  {len(found):7}  {100 * stated:9.1f} %"
                     f"  {100 * sum(row.right for row in found) / len(found):5.1f} %")  # fmt: skip
    return "\n".join(lines)
