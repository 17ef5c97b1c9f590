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
from voicelog.recognition.neural.compiled import Compiled
from voicelog.recognition.neural.pieces import SPACE, Pieces
from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS

Said = tuple[str, ...]
MARKS = ",.?!-;:"
"""What may stand between two words."""
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
        self._arcs = grammar.arcs
        self._final = grammar.final
        self._pieces = pieces
        self.letters = [letters_in(text) for text in pieces.texts]
        """Of each piece."""
        written = grammar.written
        self._bits = {word: 1 << place for place, word in enumerate(written)}
        self._allowed = [sum(self._bits[word] for word in ways) for ways in grammar.arcs]
        self._tree = _Tree()
        unwritten = []
        for word, texts in written.items():
            ways = [way for way in self._cuts(texts) if way]
            if not any(map(str.isalnum, word)) or not ways:
                unwritten.append(word)
            for way in ways:
                self._tree.add(way, word, self._bits[word])
        if unwritten:
            raise VoicelogError(
                f"the speech model cannot write: {', '.join(unwritten)}",
                todo="use other words in the grammar, or the engine pocketsphinx with a lexicon",
            )
        self._marks = [pieces.number(mark) for mark in MARKS]
        self._space = pieces.number(SPACE)
        self._digit = {str(d): pieces.number(str(d)) for d in range(10)}
        self._point = pieces.number(".")
        self._places: list[tuple[Any, ...]] = []
        self._numbers: dict[tuple[Any, ...], int] = {}
        self._fans: dict[int, Fan] = {}
        self._following: dict[str, Callable[..., Iterator[tuple[int, Step]]]] = {
            "between": self._from_between,
            "inside": self._from_inside,
            "number": self._from_number,
            "digits": self._from_digits,
            "rest": self._from_rest,
        }
        self._place("between", 0, START)

    def end(self, place: int) -> float | None:
        """Log chance that the sentence ends here; None where it cannot."""
        kind, *rest = self._places[place]
        return self._final.get(rest[0]) if kind == "between" else None

    def fan(self, place: int) -> Fan:
        """The ways on from a place."""
        found = self._fans.get(place)
        if found is None:
            kind, *rest = self._places[place]
            ways: dict[int, list[Step]] = defaultdict(list)
            for piece, step in self._following[kind](*rest):
                ways[piece].append(step)
            best = [max(step.logprob for step in steps) for steps in ways.values()]
            found = Fan(np.array(list(ways), np.int64), np.array(best, np.float32), list(ways.values()))
            self._fans[place] = found
        return found

    def _cuts(self, texts: list[str]) -> Iterator[tuple[int, ...]]:
        encode = self._pieces.encode
        for text in texts:
            cases = [text, text.capitalize(), text.upper()] if len(text) <= 3 else [text, text.capitalize()]
            for written in cases:
                yield encode(SPACE + written)
            yield encode(text)

    def _place(self, *key: Any) -> int:
        number = self._numbers.get(key)
        if number is None:
            number = self._numbers[key] = len(self._places)
            self._places.append(key)
        return number

    def _between(self, state: int, last: str, logprob: float = 0.0, words: Said = ()) -> Step:
        return Step(self._place("between", state, last), logprob, words)

    def _from_between(self, state: int, last: str) -> Iterator[tuple[int, Step]]:
        if last in (WORD, DIGIT):
            for piece in self._marks:
                yield piece, self._between(state, MARK)
        for piece, step in self._from_inside(state, 0):
            if last != START or self._pieces.texts[piece].startswith(SPACE):
                yield piece, step
        yield self._space, Step(self._place("number", state), 0.0, ())
        if last != START:
            yield from self._from_number(state)
        if last == DIGIT:
            yield from self._fractions(state)

    def _from_inside(self, state: int, node: int) -> Iterator[tuple[int, Step]]:
        """Within the spelling of a word."""
        allowed = self._allowed[state]
        for piece, child in self._tree.following[node].items():
            if not self._tree.below[child] & allowed:
                continue
            if self._tree.following[child]:
                yield piece, Step(self._place("inside", state, child), 0.0, ())
            for word in self._tree.ending[child]:
                for to, logprob in self._arcs[state].get(word, ()):
                    yield piece, self._between(to, WORD, logprob, (word,))

    def _said(self, state: int, table: Mapping[str, str]) -> Iterator[tuple[str, str, int, float]]:
        """Words of a table that can come next: word, its digits, the state after it, its log chance."""
        arcs = self._arcs[state]
        for word, digits in table.items():
            for to, logprob in arcs.get(word, ()):
                yield word, digits, to, logprob

    def _from_number(self, state: int) -> Iterator[tuple[int, Step]]:
        """A number in digits, from its first one."""
        for word, digit, to, logprob in self._said(state, DIGITS):
            yield self._digit[digit], self._between(to, DIGIT, logprob, (word,))
            yield from self._hundreds(to, digit, logprob, (word,))
        for word, to, logprob in ((w, t, p) for w in ("a", "one") for t, p in self._arcs[state].get(w, ())):
            yield from self._hundreds(to, "1", logprob, (word,))
        yield from self._hundreds(state, "1", 0.0, ())
        yield from self._below_hundred(state, 0.0, ())
        for to, logprob in self._arcs[state].get("double", ()):
            for word, digit, after, more in self._said(to, DIGITS):
                yield self._digit[digit], self._written(digit, after, logprob + more, ("double", word))

    def _hundreds(self, state: int, digit: str, logprob: float, words: Said) -> Iterator[tuple[int, Step]]:
        for to, more in self._arcs[state].get("hundred", ()):
            place = self._place("digits", to, REST)
            yield self._digit[digit], Step(place, logprob + more, (*words, "hundred"))

    def _below_hundred(self, state: int, logprob: float, words: Said) -> Iterator[tuple[int, Step]]:
        for word, digits, to, more in self._said(state, TEENS):
            yield self._digit["1"], self._written(digits[1:], to, logprob + more, (*words, word))
        for word, digit, to, more in self._said(state, TYS):
            said = (*words, word)
            yield self._digit[digit], self._written("0", to, logprob + more, said)
            yield self._digit[digit], Step(self._place("digits", to, FIGURE), logprob + more, said)

    def _written(self, digits: str, to: int, logprob: float, words: Said) -> Step:
        """A way that is whole once these digits are written too."""
        return Step(self._place("rest", digits, to), logprob, words)

    def _from_rest(self, digits: str, to: int) -> Iterator[tuple[int, Step]]:
        following = self._written(digits[1:], to, 0.0, ()) if digits[1:] else self._between(to, DIGIT)
        yield self._digit[digits[0]], following

    def _from_digits(self, state: int, wanted: str) -> Iterator[tuple[int, Step]]:
        figures = [item for item in self._said(state, DIGITS) if item[1] != "0" or wanted == DECIMAL]
        if wanted != REST:
            for word, digit, to, logprob in figures:
                yield self._digit[digit], self._between(to, DIGIT, logprob, (word,))
            return
        yield self._digit["0"], self._written("0", state, 0.0, ())
        for start, before, words in self._with_and(state):
            yield from self._below_hundred(start, before, words)
            for word, digit, to, logprob in self._said(start, DIGITS):
                yield self._digit["0"], self._written(digit, to, before + logprob, (*words, word))

    def _with_and(self, state: int) -> Iterator[tuple[int, float, Said]]:
        yield state, 0.0, ()
        for to, logprob in self._arcs[state].get("and", ()):
            yield to, logprob, ("and",)

    def _fractions(self, state: int) -> Iterator[tuple[int, Step]]:
        """After digits: "2.5" for "two point five"."""
        for to, logprob in self._arcs[state].get("point", ()):
            yield self._point, Step(self._place("digits", to, DECIMAL), logprob, ("point",))


def letters_in(text: str) -> int:
    """About how many letters a text has when it is said: a digit is a word of four."""
    return sum(4 if c.isdigit() else c.isalpha() for c in text)
