"""The clauses of free talk: what nothing holds in them, and which phrases that may turn."""

from __future__ import annotations

from decimal import Decimal

from voicelog.meaning.phrases import NUMBER_WORDS, PLACE, Group, Phrase, fills, is_number, says_little
from voicelog.meaning.tags_to_values import Said
from voicelog.vocabulary import SPELLED, TEXTS

_JOINTS = frozenset({"and", "but", "so", "because", "cause", "cos", "though", "although"})
"""Words that begin a clause where they are no part of a phrase."""
_ORDERS = ("question", "control", "undo", "time", "job", "answer")
_CLEAR = 3
"""An order of so many words is one, whatever strange word stands beside it."""
_WHOLE = ("job", "told", "time", "question")
"""Kinds of phrases that no comma stands in, but where signs are spelled."""
_PLACING_WORDS = """panel end side implied_end place colour year same next_dent oops dent mended answer"""
_PLACING = frozenset(_PLACING_WORDS.split())
"""Slots that say little alone: people name panels when they talk with others, too."""


class Clauses:
    """The words of an utterance by its clauses: what nothing holds, and what that may turn."""

    def __init__(
        self,
        tokens: list[str],
        pieces: list[Phrase],
        said: list[Said],
        turns: dict[int, bool],
        breaks: frozenset[int],
    ) -> None:
        self.tokens = tokens
        self.pieces = pieces
        self.within = within = {at for piece in pieces for at in range(piece.start, piece.end)}
        starts = {at for at, word in enumerate(tokens) if word in _JOINTS and at not in within} | breaks
        self.clause = [sum(start <= at for start in starts) for at in range(len(tokens))]
        self.loose = {at for item in said if item.slot == "kept" for at in span(item)}
        free = {item.start for item in said if item.slot == "kept" and item.value == "free"}
        self.unknown = free
        self.clean = any(item.slot == "kept" and item.value == "clean" for item in said)
        self.near = {item.start for item in said if item.slot == "kept" and item.value == "near"}
        self.free = [self.clause[at] for at in free]
        # A sign of unknown meaning ("<40") may turn a number, and so may another number.
        self.strange = {
            self.clause[at] for at in free if tokens[at] in NUMBER_WORDS or not tokens[at][0].isalpha()
        }
        far = any(item.slot == "turns" and item.value in ("far", "others") for item in said)
        far = far or any(turns.get(at) for at in free)
        near = {item.start for item in said if item.slot == "turns"} | (free & turns.keys())
        self.turned = set(self.clause) if far else {self.clause[at] for at in near}
        self.denied = [item for item in said if item.denied and self.clause[item.start] not in self.turned]
        self.told = {self.clause[piece.start] for piece in pieces if piece.kind == "told"}
        self.torn = sum(
            self.clause[item.start] != self.clause[span(item)[-1]] for item in said if item.slot in TEXTS
        )

    def doubts(self, piece: Phrase) -> bool:
        """Whether what is left over around a phrase may turn it, or shows that it is none."""
        clauses = set(self.clause[piece.start : piece.end])
        signs = any(item.slot in SPELLED or item.slot == "customer" for item in piece.said)
        if len(clauses) > 1 and piece.kind in _WHOLE and not signs:
            return True
        single = piece.kind in (*_ORDERS, "step") and piece.weak and piece.end - piece.start == 1
        if single and self.clause.count(self.clause[piece.start]) > 2:
            return True
        if clauses & self.told and piece.kind not in ("told", "job"):
            return True
        if clauses & self.turned:
            return True
        if self._of_something_else(piece):
            return True
        figures = any(isinstance(item.value, int | Decimal) or item.slot in SPELLED for item in piece.said)
        if figures and (clauses & self.strange or piece.start - 1 in self.near or self._for_so_much(piece)):
            return True
        free = sum(clause in clauses for clause in self.free)
        if free and any(item.slot in SPELLED for item in piece.said):
            return True
        if 2 * free > sum(self.clause[at] in clauses for at in self.within):
            return True
        if piece.kind in _ORDERS and not fills(piece):
            return free > 0 and (piece.end - piece.start < _CLEAR or free >= piece.end - piece.start - 1)
        return free > 0 and piece.weak

    def _of_something_else(self, piece: Phrase) -> bool:
        """Whether a side goes with what is no panel ("offside mirror off"), or a figure is part of one."""
        after = self.tokens[piece.end : piece.end + 3]
        slots = {item.slot for item in piece.said} - {"weak", "implied_end"}
        parts = {item.start for other in self.pieces for item in other.said if item.slot == "take_off"}
        clauses = {self.clause[piece.start], self.clause[piece.end - 1]}
        panels = {item.start for other in self.pieces for item in other.said if item.slot == "panel"}
        if slots <= {"side", "end"} and (
            piece.end in self.loose
            or len(clauses) > 1
            or {self.clause[at] for at in parts} & clauses - {self.clause[at] for at in panels}
        ):
            return True
        if after[:1] == ["half"] or after[-2:] == ["a", "half"]:
            return True
        one = piece.start - 1 if piece.start else None
        return (
            one is not None
            and self.tokens[one] == "one"
            and one not in self.within
            and self.tokens[piece.start] in NUMBER_WORDS
        )

    def unsure(self, group: Group) -> bool:
        """Whether strange words anywhere leave open what a group is: an order, a mending, a bare number."""
        if self.turned and group.kind == "correction":
            return True
        if not self.unknown:
            return False
        order = group.kind in ("time", "undo", "answer", "correction", "told") or (
            group.kind == "job" and any(item.slot in ("job", "quote", "invoice") for item in group.said)
        )
        bare = any(
            item.slot == "weak"
            or (item.slot in ("length_mm", "count", "number", "mileage") and is_number(item.words))
            for item in group.said
        )
        return order or bare or (says_little(group) and all(item.slot != "place" for item in group.said))

    def _for_so_much(self, piece: Phrase) -> bool:
        """Whether a bare number is a price or a time: "for three eighty"."""
        return piece.start > 0 and self.tokens[piece.start - 1] == "for" and piece.weak

    def drowns(self, groups: list[Group]) -> bool:
        """Whether so little is understood that it is likely something else: talk with somebody."""
        values = [item for group in groups for item in group.said if item.slot not in _PLACING]
        if self.loose and values and {item.slot for item in values} == {"length_mm", "weak"}:
            return True
        placed = {at for group in groups for item in group.said for at in span(item)}
        if len(groups) == 1 and {item.slot for item in groups[0].said} <= {"end", "side", "weak"}:
            return len(placed) < len(self.tokens) and any(item.slot == "weak" for item in groups[0].said)
        turned = (self.turned or self.clean) and all(group.kind == "damage" for group in groups)
        return not values and bool(turned or self.free) and (bool(turned) or len(placed) < 2 * len(self.free))

    def passed_over(self) -> int:
        """How many small words the phrase after them could have held: "right" before a door."""
        slots = {piece.start: {item.slot for item in piece.said} for piece in self.pieces}
        return sum(
            at not in self.within
            and self.clause[at] == self.clause[at + 1]
            and (
                (word == "right" and bool(slots.get(at + 1, set()) & PLACE))
                or (word == "one" and self.tokens[at + 1] in NUMBER_WORDS)
            )
            for at, word in enumerate(self.tokens[:-1])
        )

    def left(self, held: set[int]) -> set[int]:
        """Words that no phrase holds that is sure; a clause that may be turned is left as a whole."""
        phrases = {at for piece in self.pieces for at in range(piece.start, piece.end)}
        turned = {at for at, clause in enumerate(self.clause) if clause in self.turned}
        return (self.loose | phrases | turned) - held

    def kept(self, left: set[int], held: set[int]) -> tuple[str, ...]:
        """What no phrase holds, clause by clause, with the small words around it."""
        groups: list[list[int]] = []
        for at in range(len(self.tokens)):
            if at in held:
                continue
            if groups and groups[-1][-1] == at - 1 and self.clause[at] == self.clause[at - 1]:
                groups[-1].append(at)
            else:
                groups.append([at])
        return tuple(" ".join(self.tokens[at] for at in group) for group in groups if left & set(group))


def span(item: Said) -> range:
    return range(item.start, item.start + max(1, len(item.words.split())))


def conditions(said: list[Said]) -> set[int]:
    """Words that may turn every clause, also where another reading of them is taken."""
    return {item.start for item in said if item.slot == "turns" and item.value == "far"}
