"""From an engine's hypothesis to a note with its doubts marked: the way in for the session."""

from __future__ import annotations

from dataclasses import replace

from voicelog.grammar import Network
from voicelog.meaning.doubt import Policy, agrees, by_limits, doubt
from voicelog.meaning.nearest_sentence import repaired
from voicelog.meaning.note import Note
from voicelog.meaning.region import Region
from voicelog.meaning.spelling import normalise
from voicelog.meaning.understand import parsed, understand, with_readings
from voicelog.recognition.hypothesis import Hypothesis

TYPED = "typed"
"""The engine name of typed words."""


def understand_hypothesis(
    hypothesis: Hypothesis, region: Region, network: Network, policy: Policy | None = None
) -> Note:
    """The note that a hypothesis means.

    Words that are no sentence of the grammar are repaired to the nearest one where that is
    close enough; what hangs on a repaired word is marked as a guess.  The engine's other
    answers become alternatives of the slots in which they differ; other readings of the same
    sound are in `readings`.
    """
    text = normalise(hypothesis.words)
    note = parsed(text, region, network) or repaired(text, region, network)
    if note is None:
        return understand(text, region, network)
    others = []
    for alternative in hypothesis.alternatives:
        other = parsed(normalise(alternative.words), region, network)
        if other is not None:
            others.append((other, alternative.confidence))
    marked = doubt(
        note,
        hypothesis.confidence,
        tuple(others),
        lambda words: parsed(words, region, network),
        policy,
        typed=hypothesis.engine == TYPED,
        weighed=hypothesis.weighed,
    )
    agreeing = sum(likely for other, likely in others if agrees(marked, other))
    marked = replace(marked, sure=min(1.0, hypothesis.confidence + agreeing))
    fresh = with_readings(replace(marked, readings=()))
    marked = replace(marked, readings=tuple(by_limits(reading, policy) for reading in fresh.readings))
    known = [marked.values()]
    for other, _ in others:
        if other.values() not in known:
            known.append(other.values())
            marked = replace(marked, readings=(*marked.readings, other))
    return marked
