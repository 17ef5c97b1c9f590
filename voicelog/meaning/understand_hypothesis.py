"""From an engine's hypothesis to a note with its doubts marked: the way in for the session."""

from __future__ import annotations

from dataclasses import replace

from voicelog.grammar import Network
from voicelog.meaning.doubt import Policy, agrees, by_limits, doubt
from voicelog.meaning.identify import standard_plate
from voicelog.meaning.note import Note
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import parsed, with_readings
from voicelog.meaning.spelling import normalise
from voicelog.meaning.understand import understand
from voicelog.recognition.hypothesis import Alternative, Hypothesis
from voicelog.vocabulary import TEXTS

TYPED = "typed"
"""The engine name of typed words."""
FREELY_BELOW = 0.4
"""Confidence below which what was written down without the grammar is looked at."""
FREELY = 0.8
"""Confidence in it: sure enough for words, and low enough that every -teen and -ty is asked about."""
ODD_PLATE = 0.05
"""How common plates are that have no form that is given out: one in twenty (common practice, no source)."""
FEWEST_WORDS = 3
"""In fewer words anybody's talk may be a sentence."""


def told_freely(hypothesis: Hypothesis, region: Region, network: Network) -> Hypothesis:
    """What was written down without the grammar, where all of it is understood and the answer is not sure.

    Of words of the technician's own the strict language may hold a piece only, or nothing.
    """
    words = normalise(hypothesis.heard)
    if hypothesis.confidence >= FREELY_BELOW or len(words.split()) < FEWEST_WORDS:
        return hypothesis
    note = understand(words, region, network)
    if note.kind in ("none", "answer") or note.kept or note.further or note.troubles:
        return hypothesis
    if TEXTS.issuperset(note.slots):
        # Free words alone may be about anything: "with a bit of sweetener".
        return hypothesis
    return Hypothesis(
        words, FREELY, engine=hypothesis.engine, heard=hypothesis.heard, scores=hypothesis.scores
    )


def understand_hypothesis(
    hypothesis: Hypothesis, region: Region, network: Network, policy: Policy | None = None
) -> Note:
    """The note that a hypothesis means.

    Words that are no sentence of the grammar are read as free talk, what no slot holds kept as
    words.  The engine's other answers become
    alternatives of the slots in which they differ; other readings of the same sound are in
    `readings`.
    """
    note = understand(hypothesis.words, region, network)
    if note.kind == "none":
        return note
    others = []
    for alternative in hypothesis.alternatives:
        other = parsed(normalise(alternative.words), region, network)
        if other is None:
            continue
        likely = alternative.confidence >= ODD_PLATE * hypothesis.confidence
        if likely and _less_of_a_plate(note, other, region):
            return understand_hypothesis(_first(alternative, hypothesis), region, network, policy)
        others.append((other, alternative.confidence))
    odd = [(other, likely) for other, likely in others if _less_of_a_plate(other, note, region)]
    others = [pair for pair in others if pair not in odd]
    sure = hypothesis.confidence + sum(likely for _, likely in odd)
    marked = doubt(
        note,
        sure,
        tuple(others),
        lambda words: understand(words, region, network),
        policy,
        typed=hypothesis.engine == TYPED,
        weighed=hypothesis.weighed,
    )
    further = []
    for at, after in enumerate(marked.further):
        # Each part of one breath is weighed against the same part of the other answers.
        same = tuple((o.further[at], p) for o, p in others if len(o.further) == len(marked.further))
        further.append(
            doubt(
                after,
                sure,
                same,
                lambda words: understand(words, region, network),
                policy,
                typed=hypothesis.engine == TYPED,
                weighed=hypothesis.weighed,
            )
        )
    marked = replace(marked, further=tuple(further))
    agreeing = sum(likely for other, likely in others if agrees(marked, other))
    marked = replace(marked, sure=min(1.0, sure + agreeing))
    fresh = with_readings(replace(marked, readings=()))
    readings = tuple(by_limits(reading, policy) for reading in fresh.readings)
    marked = replace(marked, readings=readings)
    known = [_values(marked)]
    for other, _ in others:
        if _values(other) not in known:
            known.append(_values(other))
            marked = replace(marked, readings=(*marked.readings, other))
    return marked


def _first(alternative: Alternative, hypothesis: Hypothesis) -> Hypothesis:
    """The hypothesis with one of its alternatives in the first place."""
    rest = (other for other in hypothesis.alternatives if other != alternative)
    others = (Alternative(hypothesis.words, hypothesis.confidence), *rest)
    return replace(
        hypothesis, words=alternative.words, confidence=alternative.confidence, alternatives=others
    )


def _values(note: Note) -> list[dict[str, object]]:
    return [one.values() for one in (note, *note.further)]


def _less_of_a_plate(other: Note, note: Note, region: Region) -> bool:
    """Whether a note has a plate of the form that is given out, and the other one something else."""
    said, there = (str(one.slots["plate"].value) if "plate" in one.slots else "" for one in (other, note))
    return bool(said) and standard_plate(there, region.country) and not standard_plate(said, region.country)
