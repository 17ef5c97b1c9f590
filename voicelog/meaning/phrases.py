"""Phrases of free talk joined to notes: what belongs together, what mends what, what is out of place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from voicelog.grammar import Node
from voicelog.meaning.numbers import FIGURES, TEENS, TYS
from voicelog.meaning.tags_to_values import Said, kind_of
from voicelog.vocabulary import CHOICES

NUMBER_WORDS = frozenset((*FIGURES, *TEENS, *TYS, "hundred", "thousand")) - {"one"}
PLACE = frozenset({"panel", "end", "side"})
_NUMBERED = frozenset({"number", "length_mm", "count"})
_MENDABLE = ("damage", "correction")
_LEAST_MILEAGE = 1000
"""Fewer are likely something else: "one three six on it"."""
_MENDING = ("mended", "dent")
"""What makes a correction of the damage said beside it."""
_AMBIGUOUS_WORDS = """open round sharp soft wide high light heavy push pull lever glue edge time price start
stop pause missing total clean wipe polish warm tight mixed limited medium remove
raised no yes right yeah declined existing composite brace break wash buff machine mop
compound blend bump knock tickle tap heat lunch dinner running starting started going
finished done louder quieter softer mute cash card transfer paid deposit hatch guard
rail rocker alloy ally black white silver blue red green grey gray gold orange brown"""
_AMBIGUOUS = frozenset(_AMBIGUOUS_WORDS.split())
"""Words that fill a slot alone and mean something else among words that are not known."""


@dataclass(frozen=True)
class Phrase:
    """A phrase that fills slots, over the words from `start` up to but not with `end`."""

    kind: str
    said: tuple[Said, ...]
    start: int
    end: int

    @property
    def weak(self) -> bool:
        """Whether its words often mean something else."""
        return any(item.slot == "weak" for item in self.said) or all(
            item.words in _AMBIGUOUS for item in self.said
        )


@dataclass(frozen=True)
class Group:
    """Values of one kind, said one after the other."""

    kind: str
    said: tuple[Said, ...]


def fills(group: Phrase) -> bool:
    """Whether a phrase of the kind job holds details, not an order."""
    return group.kind == "job" and all(item.slot not in ("job", "quote") for item in group.said)


_NAMED = frozenset({"customer", "make", "model", "insurer", "technician"})
_ALSO_NAMES = frozenset(
    ["black", "white", "green", "brown", "grey", "gray", "mark", "will", "bill", "rod", "frank", "miles"]
)


def no_name(phrase: Phrase, known: frozenset[str]) -> bool:
    """Whether the words of a name begin as a sentence goes on: "owner wants it back by Friday"."""
    return any(
        item.slot in _NAMED
        and str(item.value).lower() == item.words
        and (item.words.split()[0] in known - _ALSO_NAMES or item.words.split()[0].endswith("ing"))
        for item in phrase.said
    )


def says_little(group: Group) -> bool:
    """Whether a group names a place, a colour or a year only, which people also do in passing."""
    slots = {item.slot for item in group.said} - {"loose", "weak", "implied_end"}
    return (group.kind == "damage" and slots <= {"place", "panel", "end", "side"}) or (
        group.kind == "job" and slots <= {"colour", "year"}
    )


def clash(groups: list[Group]) -> bool:
    """Whether a correction begins where damage was being said: what it is to mend is not clear."""
    return any(
        ((one.kind, two.kind) == ("damage", "correction") and any(item.slot == "mended" for item in two.said))
        or ({item.slot for item in one.said} <= {"mended", "oops", "weak"} and two.kind not in _MENDABLE)
        for one, two in pairwise(groups)
    )


def _two_bare(group: Group) -> bool:
    """Whether two numbers stand side by side, without a unit: "ten ten"."""
    return any(
        one.slot == two.slot == "length_mm"
        and is_number(one.words)
        and one.start + len(one.words.split()) == two.start
        for one, two in pairwise(item for item in group.said if item.slot != "weak")
    )


def misplaced(group: Group) -> bool:
    """Whether a group says nothing, or details of something that was not said."""
    slots = {
        item.slot: item.value for item in group.said if item.slot not in ("oops", "label", "kept", "weak")
    }
    loose = slots.pop("loose", None) is not None
    if not slots.keys() - set(_MENDING) or ("number" in slots and "mended" not in slots):
        return True
    if "density" in slots and "count" not in slots:
        return True
    if _two_bare(group) or any(item.slot == "length_mm" and item.words == "inch" for item in group.said):
        return True
    if slots.keys() == {"year"} and all(map(is_number, (item.words for item in group.said))):
        return True
    if int(str(slots.get("mileage", _LEAST_MILEAGE))) < _LEAST_MILEAGE:
        return True
    if group.kind == "reading" and loose and "paint_um" not in slots:
        return True
    if group.kind != "step":
        return False
    step = slots.get("step")
    return (
        (step is None and not ({"tab", "glue"} | set(() if loose else ("tool",))) & slots.keys())
        or ("direction" in slots and step != "check-lines")
        or ("tab_mm" in slots and step != "pull" and "tab" not in slots)
    )


def phrases_of(root: Node, said: Iterable[Said]) -> list[Phrase]:
    """The phrases that fill slots."""
    values = [item for item in said if item.slot not in ("kept", "turns") and not item.denied]
    return [
        Phrase(
            kind_of(element),
            tuple(item for item in values if element.start <= item.start < element.end),
            element.start,
            element.end,
        )
        for element in root.find("element")
    ]


def _in_turn(pieces: list[Phrase]) -> list[Group]:
    """The values of every phrase, those of one kind that follow one another together."""
    groups: list[Group] = []
    for piece in pieces:
        if groups and groups[-1].kind == piece.kind and not _opens(piece.said):
            groups[-1] = Group(piece.kind, groups[-1].said + piece.said)
        else:
            groups.append(Group(piece.kind, piece.said))
    return groups


def _opens(said: Iterable[Said]) -> bool:
    """Whether a phrase is a note of its own beside others of its kind: a second step, an order."""
    return any(item.slot in ("step", "job", "time", "control", "question", "undo") for item in said)


def joined(phrases: list[Phrase]) -> list[Group]:
    """Corrections with the damage that they mend, and details with the step that they belong to."""
    found: list[Group] = []
    for group in _in_turn(phrases):
        one = _as_one(found[-1], group) if found else None
        if one is None:
            found.append(group)
        else:
            found[-1] = one
    return _said_anew(found)


def _said_anew(groups: list[Group]) -> list[Group]:
    """ "It's fifty, sorry, sixty": what was said just before is corrected, not the record."""
    found: list[Group] = []
    for group in groups:
        before = found[-1] if found else None
        if (
            before is not None
            and (before.kind, group.kind) == ("damage", "correction")
            and "dent" not in (item.slot for item in group.said)
        ):
            said = tuple(
                replace(item, slot={"mended": "oops", "number": "length_mm"}.get(item.slot, item.slot))
                for item in group.said
            )
            held = {item.slot for item in before.said}
            if {item.slot for item in said} - {"oops", "weak"} <= held | (PLACE if held & PLACE else set()):
                found[-1] = Group("damage", before.said + said)
                continue
        found.append(group)
    return found


def _as_one(before: Group, group: Group) -> Group | None:
    """Two groups that are one note; None where each is a note of its own."""
    said = before.said + group.said
    match before.kind, group.kind:
        case "correction", "damage" if _mended_late(before):
            # "Edge, I mean body line": the words before are corrected, not the record.
            return Group("damage", tuple(_oops(item) for item in before.said) + group.said)
        case ("correction", "damage") if any(item.slot in _MENDING for item in before.said):
            names = {item.slot for item in said}
            # "Third one, offside rear wing" names a dent of its own.
            own = {"dent", "panel"} <= names and "mended" not in names
            return Group("damage" if own else "correction", said)
        case (("damage" | "correction"), "correction") if _mended_late(group):
            return Group("correction", said)
        case "damage", "step" if _only_aside(group):
            return Group("damage", said)
        case "step", "step" if not _opens(before.said):
            return Group("step", said)
        case "step", "damage" if _only_tab(before, group):
            return Group("step", before.said + tuple(_of_tab(item) for item in group.said))
        case "undo", ("damage" | "correction") if _scratched(before, group):
            return Group("correction", (Said("mended", True, "", before.said[0].start), *group.said))
    return None


def _only_tab(step: Group, group: Group) -> bool:
    """Whether a size after pulls is the tab's: "nine pulls, sixteen mil, round"."""
    pulled = any(item.slot in ("tab", "glue", "pulls") or item.value == "pull" for item in step.said)
    return pulled and all(_of_tab(item) != item for item in group.said)


def _of_tab(item: Said) -> Said:
    if item.slot == "shape" and item.value not in CHOICES["tab"]:
        return item
    return replace(item, slot={"length_mm": "tab_mm", "shape": "tab"}.get(item.slot, item.slot))


def _scratched(undo: Group, group: Group) -> bool:
    """Whether "scratch that" mends, for what should stand there follows: "scratch that, it's the hatch"."""
    return "scratch" in undo.said[-1].words.split() and all(item.slot != "next_dent" for item in group.said)


def settled(group: Group) -> Group:
    """Bare numbers and "no" by what stands beside them."""
    slots = [item.slot for item in group.said]
    if group.kind == "correction" and "mended" in slots:
        return Group("correction", tuple(_unnamed(item) for item in group.said))
    if group.kind != "damage":
        return group
    said = list(group.said)
    for at, (item, after) in enumerate(pairwise(group.said)):
        before = {other.slot for other in group.said[:at]}
        if item.slot == "oops" and after.slot not in before and not (after.slot in PLACE and before & PLACE):
            if not before:
                return settled(Group("correction", (replace(item, slot="mended"), *group.said[1:])))
            if item.words != "no":  # "Steel, no, deep" may be steel that is not deep.
                said[at] = replace(item, slot="weak")
    sizes = [item for item in said if item.slot == "length_mm"]
    if (
        len(sizes) == 2
        and "oops" not in slots
        and is_number(sizes[0].words)
        and not is_number(sizes[1].words)
    ):
        beside = sizes[0].start + len(sizes[0].words.split()) == sizes[1].start
        # "Twenty, twenty five mil" is a range; "sixty, all about ten mil" are sixty dents.
        said[said.index(sizes[0])] = replace(sizes[0], slot="range" if beside else "count")
    return Group("damage", tuple(said))


def _unnamed(item: Said) -> Said:
    return replace(item, slot="number") if item.slot == "length_mm" and is_number(item.words) else item


def compared(group: Group, said: Iterable[Said]) -> Group:
    """ "Thirteen, not thirty" corrects whatever was said last, where the number names no slot."""
    denied = {item.slot for item in said if item.denied}
    names = {item.slot for item in group.said}
    if group.kind not in ("damage", "correction") or not ("number" in denied and names & _NUMBERED):
        return group
    mended = Said("mended", True, "", group.said[0].start)
    return Group("correction", (mended, *map(_unnamed, group.said)))


def is_number(words: str) -> bool:
    return all(word in NUMBER_WORDS or word in ("one", "and", "a") for word in words.split())


def _oops(item: Said) -> Said:
    return replace(item, slot="oops") if item.slot == "mended" else item


def _mended_late(group: Group) -> bool:
    return any(item.slot == "mended" and item.value == "after" for item in group.said)


def _only_aside(group: Group) -> bool:
    """Whether details name no step: said of a dent, "from behind with a hook"."""
    return all(item.slot in ("tool", "place") for item in group.said)
