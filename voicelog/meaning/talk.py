"""Free talk to notes: known phrases wherever they stand, the rest kept as words.

The phrases and the small words between them are in `grammars/talk.jsgf`.  Phrases of one kind that
follow one another are one note; an utterance may hold several.  Words left over that may turn the
meaning of others ("not", "unless", a number) leave nothing filled in: all of it is kept as words.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType

from voicelog.grammar import Network, Node, Parse
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.numbers import FIGURES, TEENS, TYS
from voicelog.meaning.region import Region
from voicelog.meaning.sentence import faults_of, note_of
from voicelog.meaning.tags_to_values import Said, kind_of, said_in

_PARSES = 40
_NUMBER_WORDS = frozenset((*FIGURES, *TEENS, *TYS, "hundred", "thousand")) - {"one"}
_NUMBERED = frozenset({"number", "length_mm", "count"})
_MENDING = ("mended", "dent")
"""What makes a correction of the damage said beside it."""


@dataclass(frozen=True)
class _Group:
    """Values of one kind, said one after the other."""

    kind: str
    said: tuple[Said, ...]


def talked(text: str, region: Region, network: Network) -> Note | None:
    """The note of free talk; of kind "none" with all of it kept where nothing can be filled in safely.

    Args:
        text: words in the spelling of the grammar.
        region: the country of the settings.
        network: the word network of the rule <talk>.

    Returns:
        None where there are no words.
    """
    tokens = text.split()
    found = (
        [_read(parse, tokens, region, network.vocabulary) for parse in network.match(tokens, _PARSES)]
        if tokens
        else []
    )
    if not found:
        return None
    best = min(found, key=lambda read: read.rank)
    if not best.safe:
        return Note("none", words=text, kept=(text,))
    return replace(best.notes[0], kept=best.kept, further=best.notes[1:])


@dataclass(frozen=True)
class _Read:
    """One way to read an utterance."""

    notes: tuple[Note, ...]
    kept: tuple[str, ...]
    free: int
    """Words that nothing in the language holds; those that it knows count twice."""
    faults: int
    safe: bool
    """Whether what is left over cannot turn what was filled in."""

    @property
    def rank(self) -> tuple[int, int, int]:
        """What speaks against it, the worst first."""
        return self.faults + self.free, self.faults, len(self.notes)


def _read(parse: Parse, tokens: list[str], region: Region, known: frozenset[str]) -> _Read:
    said = said_in(parse.root, tokens, region)
    words = " ".join(tokens)
    kept = _together([item for item in said if item.slot == "kept"])
    # A word that could have said something is a greater loss than one that is not known at all.
    free = sum(1 + (item.words in known) for item in said if item.slot == "kept" and item.value == "free")
    groups = [_compared(group, said) for group in _joined(_groups(parse.root, tokens, region))]
    memo = _memo(groups, tokens)
    if memo is not None:
        return _Read((memo,), (), 0, 0, True)
    aside = note_of("none", [item for item in said if item.denied], words, region)
    if not groups and aside.denied:
        groups = [_Group("damage", ())]
    notes = [note_of(group.kind, list(group.said), words, region) for group in groups]
    if notes:
        notes[0] = replace(notes[0], denied=aside.denied)
    faults = sum(map(faults_of, notes)) + sum(_misplaced(group) for group in groups if group.said)
    safe = not (_turned(said, kept) or _drowned(groups, free, len(tokens)))
    safe = safe and not _clash(groups) and not any(_misplaced(group) for group in groups if group.said)
    return _Read(
        tuple(notes),
        kept,
        free,
        faults if groups else int(free > 0 or _turned(said, kept)),
        safe and bool(groups),
    )


def _memo(groups: list[_Group], tokens: list[str]) -> Note | None:
    """A memo: all words after its beginning are its text."""
    for group in groups:
        for item in group.said:
            if item.slot == "control" and item.value == "memo":
                text = next((other.start for other in group.said if other.slot == "memo"), len(tokens))
                slots = {"control": SlotValue("memo", item.words)}
                if text < len(tokens):
                    slots["memo"] = SlotValue(" ".join(tokens[text:]), " ".join(tokens[text:]))
                return Note("control", MappingProxyType(slots), " ".join(tokens))
    return None


_ORDERS = ("question", "control", "undo", "time", "job", "answer")


def _drowned(groups: list[_Group], free: int, many: int) -> bool:
    """Whether so much is not understood that the rest is likely something else: talk with somebody."""
    weak = any(item.slot == "weak" for group in groups for item in group.said)
    if weak and len(groups) > 1:
        return True
    orders = any(group.kind in _ORDERS and not _fills(group) for group in groups)
    values = sum(item.slot not in ("oops", "weak", *_MENDING) for group in groups for item in group.said)
    return free > 0 and (weak or orders or len(groups) > 1 or values < 2 or free * 4 > many)


def _fills(group: _Group) -> bool:
    """Whether a group of the kind job holds details, not an order."""
    return group.kind == "job" and all(item.slot not in ("job", "quote") for item in group.said)


def _clash(groups: list[_Group]) -> bool:
    """Whether a correction begins where damage was being said: what it is to mend is not clear."""
    return any(
        (one.kind, two.kind) == ("damage", "correction") and any(item.slot == "mended" for item in two.said)
        for one, two in pairwise(groups)
    )


def _two_bare(group: _Group) -> bool:
    """Whether two numbers stand side by side, without a unit: "ten ten"."""
    return any(
        one.slot == two.slot == "length_mm"
        and _is_number(one.words)
        and one.start + len(one.words.split()) == two.start
        for one, two in pairwise(item for item in group.said if item.slot != "weak")
    )


def _misplaced(group: _Group) -> bool:
    """Whether a group says nothing, or details of something that was not said."""
    slots = {
        item.slot: item.value for item in group.said if item.slot not in ("oops", "label", "kept", "weak")
    }
    if not slots.keys() - set(_MENDING) or ("number" in slots and "mended" not in slots):
        return True
    if "density" in slots and "count" not in slots:
        return True
    if _two_bare(group):
        return True
    if slots.keys() == {"year"} and all(map(_is_number, (item.words for item in group.said))):
        return True
    if group.kind != "step":
        return False
    step = slots.get("step")
    return (
        (step is None and not {"tab", "glue", "tool"} & slots.keys())
        or ("direction" in slots and step != "check-lines")
        or ("tab_mm" in slots and step != "pull" and "tab" not in slots)
    )


def _groups(root: Node, tokens: list[str], region: Region) -> list[_Group]:
    """The values of every phrase, those of one kind that follow one another together."""
    groups: list[_Group] = []
    for element in root.find("element"):
        said = tuple(item for item in said_in(element, tokens, region) if item.slot not in ("kept", "turns"))
        kind = kind_of(element)
        if groups and groups[-1].kind == kind and not _opens(said):
            groups[-1] = _Group(kind, groups[-1].said + said)
        else:
            groups.append(_Group(kind, said))
    return groups


def _opens(said: Iterable[Said]) -> bool:
    """Whether a phrase is a note of its own beside others of its kind: a second step, an order."""
    return any(item.slot in ("step", "job", "time", "control", "question", "undo") for item in said)


def _joined(groups: list[_Group]) -> list[_Group]:
    """Corrections with the damage that they mend, and details with the step that they belong to."""
    found: list[_Group] = []
    for group in groups:
        one = _as_one(found[-1], group) if found else None
        if one is None:
            found.append(group)
        else:
            found[-1] = one
    return found


def _as_one(before: _Group, group: _Group) -> _Group | None:
    """Two groups that are one note; None where each is a note of its own."""
    said = before.said + group.said
    match before.kind, group.kind:
        case "correction", "damage" if _mended_late(before):
            # "Edge, I mean body line": the words before are corrected, not the record.
            return _Group("damage", tuple(_oops(item) for item in before.said) + group.said)
        case ("correction", "damage") if any(item.slot in _MENDING for item in before.said):
            names = {item.slot for item in said}
            # "Third one, offside rear wing" names a dent of its own.
            own = {"dent", "panel"} <= names and "mended" not in names
            return _Group("damage" if own else "correction", said)
        case (("damage" | "correction"), "correction") if _mended_late(group):
            return _Group("correction", said)
        case "damage", "step" if _only_aside(group):
            return _Group("damage", said)
        case "step", "step" if not _opens(before.said):
            return _Group("step", said)
    return None


def _compared(group: _Group, said: Iterable[Said]) -> _Group:
    """ "Thirteen, not thirty" corrects whatever was said last, where the number names no slot."""
    denied = {item.slot for item in said if item.denied}
    names = {item.slot for item in group.said}
    if group.kind not in ("damage", "correction") or not ("number" in denied and names & _NUMBERED):
        return group
    mended = Said("mended", True, "", group.said[0].start)
    plain = [
        replace(item, slot="number") if item.slot == "length_mm" and _is_number(item.words) else item
        for item in group.said
        if not item.denied
    ]
    return _Group("correction", (mended, *plain))


def _is_number(words: str) -> bool:
    return all(word in _NUMBER_WORDS or word in ("one", "and", "a") for word in words.split())


def _oops(item: Said) -> Said:
    return replace(item, slot="oops") if item.slot == "mended" else item


def _mended_late(group: _Group) -> bool:
    return any(item.slot == "mended" and item.value == "after" for item in group.said)


def _only_aside(group: _Group) -> bool:
    """Whether details name no step: said of a dent, "from behind with a hook"."""
    return all(item.slot in ("tool", "place") for item in group.said)


def _turned(said: Iterable[Said], kept: Iterable[str]) -> bool:
    """Whether words left over may turn the meaning of what was filled in."""
    words = [word for group in kept for word in group.split()]
    # A sign of unknown meaning ("<40") may turn a number, and so may another number.
    strange = any(word in _NUMBER_WORDS or not word[0].isalpha() for word in words)
    return strange or any(item.slot == "turns" for item in said)


def _together(kept: list[Said]) -> tuple[str, ...]:
    """Words kept, those that stand side by side as one group."""
    groups: list[list[Said]] = []
    for item in kept:
        if groups and groups[-1][-1].start + len(groups[-1][-1].words.split()) == item.start:
            groups[-1].append(item)
        elif not groups or groups[-1][-1].start < item.start:
            groups.append([item])
    return tuple(" ".join(item.words for item in group) for group in groups)
