"""What may have been misheard, and what makes no sense.

The pairs and thresholds are in `confusions.toml`, the limits in `limits.toml`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

from voicelog.meaning.note import Note, SlotValue, Trouble, Value
from voicelog.meaning.numbers import in_words
from voicelog.vocabulary import NUMBERS

Heard = tuple[Note, float]
"""What an alternative of the engine means, and how likely it is."""

Reread = Callable[[str], Note | None]
"""Words to their note; None where they are no sentence."""


@dataclass(frozen=True)
class Pair:
    """Two words that sound alike."""

    words: tuple[str, str]
    below: float
    """Doubted where the engine is less sure than this of the utterance, 0 to 1."""
    first_below: float
    """The same where the first of the two was heard: a pair may be mistaken more often one way."""


@dataclass(frozen=True)
class Policy:
    """When a value counts as doubtful."""

    alternative: float
    """An alternative at least this likely doubts the slots in which it differs, 0 to 1."""
    weighed: float
    """The same where the engine compared all sentences."""
    presence: float
    """An alternative at least this likely doubts the slots that it does not have, 0 to 1."""
    structure: float
    """An alternative at least this likely of another kind, or with more slots, doubts the whole note."""
    pairs: tuple[Pair, ...]
    limits: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


@cache
def default_policy() -> Policy:
    """The policy written in the data files of this room."""
    data, limits = _table("confusions.toml"), _table("limits.toml")
    thresholds = data["thresholds"]
    pairs = [_number_pair(entry, thresholds) for entry in data["numbers"]]
    pairs += [_pair(entry["pair"][0], entry["pair"][1], entry, thresholds) for entry in data.get("words", ())]
    names = ("alternative", "weighed", "presence", "structure")
    return Policy(**{name: thresholds[name] for name in names}, pairs=tuple(pairs), limits=limits)


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads((resources.files("voicelog.meaning") / name).read_text(encoding="utf-8"))


def _number_pair(entry: Mapping[str, Any], thresholds: Mapping[str, float]) -> Pair:
    one, other = (in_words(number) for number in entry["pair"])
    return _pair(one, other, entry, thresholds)


def _pair(one: str, other: str, entry: Mapping[str, Any], thresholds: Mapping[str, float]) -> Pair:
    below = thresholds[entry["threshold"]]
    return Pair((one, other), below, thresholds[entry.get("first", entry["threshold"])])


def doubt(
    note: Note,
    confidence: float,
    alternatives: tuple[Heard, ...],
    reread: Reread,
    policy: Policy | None = None,
    *,
    typed: bool = False,
    weighed: bool = False,
) -> Note:
    """The note with what is doubtful about it marked.

    Args:
        note: what the words mean.
        confidence: the engine's chance that the words are right, 0 to 1.
        alternatives: notes of the engine's other answers.
        reread: understands words, for the values of words that sound alike.
        policy: thresholds, pairs and limits.
        typed: typed words were not misheard; only limits count.
        weighed: the engine compared all sentences, so that words that sound alike need no rule.

    Returns:
        A note whose doubtful slots have `alternatives` or a `doubt`, and which has a trouble
        where the engine is as good as undecided between two different notes.
    """
    rules = policy or default_policy()
    if not typed:
        note = _by_alternatives(note, alternatives, rules, rules.weighed if weighed else rules.alternative)
        if not weighed:
            note = _by_pairs(note, confidence, reread, rules)
    return by_limits(note, rules)


def _by_alternatives(note: Note, alternatives: tuple[Heard, ...], policy: Policy, least: float) -> Note:
    """Doubt each slot by what all alternatives together say against its value."""
    plain = note
    others = [item for item in alternatives if not _same_record(plain, item[0])]
    same_kind = [item for item in others if item[0].kind == plain.kind]
    for name, slot in plain.slots.items():
        for value, likely in _against(name, slot, same_kind).items():
            if value is not None and likely >= least:
                note = _also(note, name, value, "it may have been misheard")
            elif value is None and likely >= policy.presence:
                now = note.slots[name]
                note = note.with_slot(name, replace(now, doubt=now.doubt or "it may not have been said"))
    more = [item for item in others if _is_another(plain, item[0])]
    if sum(likely for _, likely in more) >= policy.structure:
        trouble = Trouble("", f'it may also have been "{more[0][0].words}"')
        note = replace(note, troubles=(*note.troubles, trouble))
    return note


def _is_another(note: Note, other: Note) -> bool:
    """Whether another note is of another kind, or says more or in another number of parts."""
    more = set(other.slots) - set(note.slots)
    return other.kind != note.kind or bool(more) or len(other.further) != len(note.further)


def _against(name: str, slot: SlotValue, others: list[Heard]) -> dict[Value | None, float]:
    """How likely other values of a slot are, most likely first; None for no value at all."""
    found: dict[Value | None, float] = {}
    for other, likely in others:
        value = other.slots[name].value if name in other.slots else None
        if value != slot.value:
            found[value] = found.get(value, 0.0) + likely
    return dict(sorted(found.items(), key=lambda item: -item[1]))


def agrees(note: Note, other: Note) -> bool:
    """Whether another note says the same but for slots that are in doubt anyway."""
    settled = {name: slot.value for name, slot in note.slots.items() if slot.confirmed}
    return (
        note.kind == other.kind
        and all(name in other.slots and other.slots[name].value == value for name, value in settled.items())
        and set(other.slots) <= set(note.slots)
        and len(note.further) == len(other.further)
        and all(map(agrees, note.further, other.further))
    )


def _same_record(note: Note, other: Note) -> bool:
    same = note.kind == other.kind and note.values() == other.values()
    return same and len(note.further) == len(other.further)


def _also(note: Note, name: str, value: Value, why: str) -> Note:
    """The note with one more value that a slot may have."""
    slot = note.slots[name]
    if value == slot.value or value in slot.alternatives:
        return note
    return note.with_slot(
        name, replace(slot, alternatives=(*slot.alternatives, value), doubt=slot.doubt or why)
    )


def _by_pairs(note: Note, confidence: float, reread: Reread, policy: Policy) -> Note:
    """Doubt what another word of a sound-alike pair would change in exactly one slot."""
    words = note.words.split()
    partners: dict[str, list[str]] = {}
    for pair in policy.pairs:
        one, two = pair.words
        if confidence < pair.first_below:
            partners.setdefault(one, []).append(two)
        if confidence < pair.below:
            partners.setdefault(two, []).append(one)
    plain = note
    for place, word in enumerate(words):
        for partner in partners.get(word, ()):
            other = reread(" ".join([*words[:place], partner, *words[place + 1 :]]))
            changed = None if other is None else _only_change(plain, other)
            if changed is not None:
                note = _also(note, changed[0], changed[1], f"{word} sounds like {partner}")
    return note


def _only_change(note: Note, other: Note) -> tuple[str, Value] | None:
    """The one slot in which two notes of the same kind and slots differ, with the other's value.

    A note that contradicts itself ("fifteen, five zero") is no other reading.
    """
    if other.troubles or not all(slot.confirmed for slot in other.slots.values()):
        return None
    if other.kind != note.kind or set(other.slots) != set(note.slots):
        return None
    changed = [name for name, slot in other.slots.items() if slot.value != note.slots[name].value]
    return (changed[0], other.slots[changed[0]].value) if len(changed) == 1 else None


def by_limits(note: Note, policy: Policy | None = None) -> Note:
    """The note with every number outside its limits marked."""
    limits = (policy or default_policy()).limits
    panel = str(note.slots["panel"].value) if "panel" in note.slots else ""
    for name, slot in note.slots.items():
        why = nonsense(name, slot.value, panel, limits)
        if why and not slot.doubt:
            note = note.with_slot(name, replace(slot, doubt=why))
    return note


def nonsense(
    slot: str, value: Value, panel: str = "", limits: Mapping[str, Mapping[str, Any]] | None = None
) -> str:
    """Why a number makes no sense in a slot (on a panel), a clause for people; empty when it does."""
    table = default_policy().limits if limits is None else limits
    if slot not in NUMBERS or slot not in table or not isinstance(value, int | Decimal):
        return ""
    row = table[slot]
    high = row.get("panel", {}).get(panel, row["high"])
    if value > high:
        return f"more than {high} is unusual" + (
            f" on a {panel.replace('-', ' ')}" if panel in row.get("panel", {}) else ""
        )
    return f"less than {row['low']} is unusual" if value < row["low"] else ""


def in_doubt(slot: SlotValue) -> bool:
    """Whether a slot has to be asked about: it may be another value, makes no sense, or is a guess."""
    return bool(slot.alternatives or slot.doubt or slot.guess)
