"""A grammar as the decoder walks it: places, and from each the word pieces that lead on.

Places are made when the search first comes by and kept.  Between two words stand a space, a
punctuation mark, a hyphen or nothing; numbers may be written in digits ("45" for "forty five").
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicelog.errors import VoicelogError
from voicelog.grammar.network import ANY
from voicelog.grammar.once import NOTHING, Held, may_end
from voicelog.recognition.neural.compiled import Compiled
from voicelog.recognition.neural.pieces import SPACE, Pieces
from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS

At = tuple[int, Held]
"""A state of the grammar, with what may not be said again after it."""
Said = tuple[str, ...]
FREE = -6.0
"""Log chance of a piece where the grammar has any words: about one of four hundred."""
MARKS = ",.?!-;:"
"""What may stand between two words."""
MOST_FANS = 2000
"""Places whose ways on are kept from one search to the next; all of a working day's would fill the memory."""
START, WORD, MARK, DIGIT = "start", "word", "mark", "digit"
"""What was written last at a place between two words."""
FIGURE, REST, DECIMAL = "figure", "rest", "decimal"
"""What has to follow within a number in digits: 1 to 9, two digits after the hundreds, decimals."""


@dataclass(frozen=True)
class Step:
    """A way on from a place by one piece."""

    place: int
    logprob: float
    words: Said
    """Words that the piece completes."""


@dataclass(frozen=True)
class Fan:
    """All ways on from a place."""

    pieces: NDArray[np.int64]
    best: NDArray[np.float32]
    """The greatest log chance of the ways of each piece."""
    ways: list[list[Step]]
    begins: list[Step]
    """Ways over a piece that begins any word."""
    goes_on: list[Step]
    """Ways over a piece that goes on with one."""


class _Tree:
    """The spellings of all words in pieces; node 0 is the root."""

    def __init__(self) -> None:
        self.following: list[dict[int, int]] = [{}]
        self.below = [0]
        """The words to which each node leads, one bit each."""
        self.ending: list[list[str]] = [[]]

    def add(self, way: tuple[int, ...], word: str, bit: int) -> None:
        node = 0
        for piece in way:
            if piece not in self.following[node]:
                self.following[node][piece] = len(self.following)
                self.following.append({})
                self.below.append(0)
                self.ending.append([])
            node = self.following[node][piece]
            self.below[node] |= bit
        if word not in self.ending[node]:
            self.ending[node].append(word)


class Language:
    """The sentences of a grammar in pieces.  Place 0 is the start."""

    def __init__(self, grammar: Compiled, pieces: Pieces) -> None:
        """Spell all words.

        Raises:
            VoicelogError: words that cannot be written, all of them named.
        """
        self._grammar = grammar
        self.pieces = pieces
        self.letters = [letters_in(text) for text in pieces.texts]
        """Of each piece."""
        self._bits = {word: 1 << place for place, word in enumerate(grammar.written)}
        self._tree = _Tree()
        self._spell()
        self._marks = [pieces.number(mark) for mark in MARKS]
        self._space, self._point = pieces.number(SPACE), pieces.number(".")
        self._digit = {str(digit): pieces.number(str(digit)) for digit in range(10)}
        self._following: dict[str, Callable[..., Iterator[tuple[int, Step]]]] = {
            "between": self._from_between,
            "inside": self._from_inside,
            "number": self._from_number,
            "digits": self._from_digits,
            "rest": self._from_rest,
            "free": lambda at: self._from_between(at, WORD),
        }
        self._begin()

    def _begin(self) -> None:
        self._allowed: dict[At, int] = {}
        self._places: list[tuple[Any, ...]] = []
        self._numbers: dict[tuple[Any, ...], int] = {}
        self._fans: dict[int, Fan] = {}
        self._place("between", (0, NOTHING), START)

    def forget(self) -> None:
        """Before a search: let go of the places of earlier ones once they are many."""
        if len(self._fans) > MOST_FANS:
            self._begin()

    def end(self, place: int) -> float | None:
        """Log chance that the sentence ends here; None where it cannot."""
        kind, at, *_ = self._places[place]
        if kind not in ("between", "free"):
            return None
        state, held = at
        found = [
            p for _, p, tags in self._grammar.ends[state] if may_end(self._held(held, tags) or (0, 1, 0))
        ]
        return max(found, default=None)

    def fan(self, place: int) -> Fan:
        """The ways on from a place."""
        found = self._fans.get(place)
        if found is None:
            kind, *rest = self._places[place]
            ways: dict[int, list[Step]] = defaultdict(list)
            for piece, step in self._following[kind](*rest):
                ways[piece].append(step)
            best = [max(step.logprob for step in steps) for steps in ways.values()]
            begins, goes_on = self._freely(kind, rest[0])
            found = Fan(
                np.array(list(ways), np.int64),
                np.array(best, np.float32),
                list(ways.values()),
                begins,
                goes_on,
            )
            self._fans[place] = found
        return found

    def _freely(self, kind: str, at: Any) -> tuple[list[Step], list[Step]]:
        """The ways over any piece at all, where the grammar has any words."""
        if kind not in ("between", "free"):
            return [], []
        begins = [Step(self._place("free", to), p + FREE, ()) for to, p in self._ways(at, ANY)]
        return begins, [Step(self._place("free", at), FREE, ())] if kind == "free" else []

    def _spell(self) -> None:
        unwritten = []
        for word, texts in self._grammar.written.items():
            ways = [way for text in texts for way in self._cuts(text) if way]
            if not any(map(str.isalnum, word)) or not ways:
                unwritten.append(word)
            for way in ways:
                self._tree.add(way, word, self._bits[word])
        if unwritten:
            raise VoicelogError(
                f"the speech model cannot write: {', '.join(unwritten)}",
                todo="use other words in the grammar, or the engine pocketsphinx with a lexicon",
            )

    def _cuts(self, text: str) -> Iterator[tuple[int, ...]]:
        """A text in pieces: after a space in each case, and joined to what stands before."""
        cases = [text, text.capitalize(), text.upper()] if len(text) <= 3 else [text, text.capitalize()]
        for written in cases:
            yield self.pieces.encode(SPACE + written)
        yield self.pieces.encode(text)

    def _place(self, *key: Any) -> int:
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self._places)
            self._places.append(key)
        return number

    def _between(self, at: At, last: str, logprob: float = 0.0, words: Said = ()) -> Step:
        return Step(self._place("between", at, last), logprob, words)

    def _held(self, held: Held, tags: tuple[str, ...]) -> Held | None:
        """What may not be said again after some tags; None where the way must not go on."""
        for tag in tags:
            following = self._grammar.limits.passed(held, tag)
            if following is None:
                return None
            held = following
        return held

    def _ways(self, at: At, word: str) -> Iterator[tuple[At, float]]:
        """Where a word leads, with its log chance."""
        for to, logprob, tags in self._grammar.arcs[at[0]].get(word, ()):
            held = self._held(at[1], tags) if tags else at[1]
            if held is not None:
                yield (to, held), logprob

    def _words_at(self, at: At) -> int:
        """The words that can come next, as bits."""
        found = self._allowed.get(at)
        if found is None:
            words = (word for word in self._grammar.arcs[at[0]] if word != ANY and any(self._ways(at, word)))
            found = self._allowed[at] = sum(self._bits[word] for word in words)
        return found

    def _from_between(self, at: At, last: str) -> Iterator[tuple[int, Step]]:
        if last in (WORD, DIGIT):
            for piece in self._marks:
                yield piece, self._between(at, MARK)
        for piece, step in self._from_inside(at, 0):
            if last != START or self.pieces.texts[piece].startswith(SPACE):
                yield piece, step
        yield self._space, Step(self._place("number", at), 0.0, ())
        if last != START:
            yield from self._from_number(at)
        if last == DIGIT:
            # "2.5" for "two point five".
            for to, logprob in self._ways(at, "point"):
                yield self._point, Step(self._place("digits", to, DECIMAL), logprob, ("point",))

    def _from_inside(self, at: At, node: int) -> Iterator[tuple[int, Step]]:
        """Within the spelling of a word."""
        allowed = self._words_at(at)
        for piece, child in self._tree.following[node].items():
            if not self._tree.below[child] & allowed:
                continue
            if self._tree.following[child]:
                yield piece, Step(self._place("inside", at, child), 0.0, ())
            for word in self._tree.ending[child]:
                for to, logprob in self._ways(at, word):
                    yield piece, self._between(to, WORD, logprob, (word,))

    def _said(self, at: At, table: Mapping[str, str]) -> Iterator[tuple[str, str, At, float]]:
        """Words of a table that can come next: word, its digits, where it leads, its log chance."""
        for word, digits in table.items():
            for to, logprob in self._ways(at, word):
                yield word, digits, to, logprob

    def _from_number(self, at: At) -> Iterator[tuple[int, Step]]:
        """A number in digits, from its first one."""
        for word, digit, to, logprob in self._said(at, {**DIGITS, "a": ""}):
            if digit:
                yield self._digit[digit], self._between(to, DIGIT, logprob, (word,))
            yield from self._hundreds(to, digit or "1", logprob, (word,))
        yield from self._hundreds(at, "1", 0.0, ())
        yield from self._below_hundred(at, 0.0, ())
        for to, logprob in self._ways(at, "double"):
            for word, digit, after, more in self._said(to, DIGITS):
                yield self._digit[digit], self._written(digit, after, logprob + more, ("double", word))

    def _hundreds(self, at: At, digit: str, logprob: float, words: Said) -> Iterator[tuple[int, Step]]:
        for to, more in self._ways(at, "hundred"):
            place = self._place("digits", to, REST)
            yield self._digit[digit], Step(place, logprob + more, (*words, "hundred"))

    def _below_hundred(self, at: At, logprob: float, words: Said) -> Iterator[tuple[int, Step]]:
        for word, digits, to, more in self._said(at, TEENS):
            yield self._digit["1"], self._written(digits[1:], to, logprob + more, (*words, word))
        for word, digit, to, more in self._said(at, TYS):
            said = (*words, word)
            yield self._digit[digit], self._written("0", to, logprob + more, said)
            yield self._digit[digit], Step(self._place("digits", to, FIGURE), logprob + more, said)

    def _written(self, digit: str, to: At, logprob: float, words: Said) -> Step:
        """A way that is whole once this digit is written too."""
        return Step(self._place("rest", to, digit), logprob, words)

    def _from_rest(self, to: At, digit: str) -> Iterator[tuple[int, Step]]:
        yield self._digit[digit], self._between(to, DIGIT)

    def _from_digits(self, at: At, wanted: str) -> Iterator[tuple[int, Step]]:
        """Within a number: the figure after a -ty, two digits after the hundreds, or decimals."""
        if wanted != REST:
            for word, digit, to, logprob in self._said(at, DIGITS):
                if digit != "0" or wanted == DECIMAL:
                    yield self._digit[digit], self._between(to, DIGIT, logprob, (word,))
            return
        yield self._digit["0"], self._written("0", at, 0.0, ())
        starts = [(at, 0.0, ()), *((to, logprob, ("and",)) for to, logprob in self._ways(at, "and"))]
        for start, before, words in starts:
            yield from self._below_hundred(start, before, words)
            for word, digit, to, logprob in self._said(start, DIGITS):
                yield self._digit["0"], self._written(digit, to, before + logprob, (*words, word))


def letters_in(text: str) -> int:
    """About how many letters a text has when it is said: a digit is a word of four."""
    return sum(4 if c.isdigit() else c.isalpha() for c in text)
