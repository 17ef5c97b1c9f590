"""Beam search: the pieces the model finds likely, along the ways that the language leaves open."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from voicelog.grammar.network import ANY
from voicelog.recognition.neural.language import Language, Said, Step
from voicelog.recognition.neural.model import Floats, Sound
from voicelog.recognition.neural.pieces import END, SPACE

_MARKS = re.compile(r"^[^\w]+|[^\w]+$")
LONGEST = 96
"""Pieces of a sentence at most."""


@dataclass(frozen=True)
class Width:
    """How widely to search, and what counts beside the sound."""

    beam: int = 12
    prior: float = 0.15
    """Weight of the grammar's chances."""
    length: float = 0.15
    """Cost of every letter more or less than the free transcript has: without it, short answers win."""
    ahead: float = 10.0
    """Ways that are so much worse than the best whole sentence are given up."""
    twins: int = 2
    """Ways to write the same words that are followed at once."""
    places: int = 16
    """Places in the language that one beginning is followed to."""


@dataclass(frozen=True)
class Sentence:
    """A sentence of the language with how well it fits."""

    words: Said
    pieces: tuple[int, ...]
    regret: float
    """How much less likely its pieces are than the likeliest ones at each step, in nats; 0 or less."""
    prior: float
    """Log chance in the grammar."""
    total: float
    """All together, with the cost of a length that does not fit."""


@dataclass(frozen=True)
class Free:
    """What the model writes when nothing holds it."""

    pieces: tuple[int, ...]
    logprob: float


_Place = tuple[int, float, int, Said]
"""A place in the language, log chance and letters so far, words."""


@dataclass(frozen=True)
class _Way:
    """A beginning of a sentence: its pieces, and the places in the language where they may lead."""

    total: float
    regret: float
    pieces: tuple[int, ...]
    row: int
    places: list[_Place]


def write_freely(sound: Sound, before: Sequence[int] = ()) -> Free:
    """The likeliest piece at each step until the model ends the sentence.

    Args:
        before: pieces expected; as many as are the likeliest ones cost one step together.
    """
    likely, state = sound.begin
    pieces: list[int] = []
    total = 0.0
    if before:
        following, states = sound.follow(before)
        wanted = [int(likely[0].argmax()), *following.argmax(axis=1).tolist()]
        same = next((at for at, piece in enumerate(before) if piece != wanted[at]), len(before))
        if same:
            pieces = list(before[:same])
            likely, state = following[same - 1 : same], [part[:, :, : same + 1] for part in states]
    while len(pieces) < LONGEST:
        piece = int(likely[0].argmax())
        total += float(likely[0, piece])
        if piece == END:
            break
        pieces.append(piece)
        likely, state = sound.step([piece], state, [0])
    return Free(tuple(pieces), total)


def search(sound: Sound, language: Language, letters: int, width: Width) -> list[Sentence]:
    """The best sentences of the language, the best first; `letters` is the length of the free transcript."""
    return _Search(sound, language, letters, width).run()


class _Search:
    def __init__(self, sound: Sound, language: Language, letters: int, width: Width) -> None:
        self.sound, self.language, self.letters, self.width = sound, language, letters, width
        self.found: dict[Said, Sentence] = {}
        self.best = -np.inf

    def run(self) -> list[Sentence]:
        self.language.forget()
        likely, state = self.sound.begin
        ways = [_Way(0.0, 0.0, (), 0, [(0, 0.0, 0, ())])]
        for _ in range(LONGEST):
            ways = self._go_on(ways, likely - likely.max(axis=1, keepdims=True))
            if not ways:
                break
            likely, state = self.sound.step(
                [way.pieces[-1] for way in ways], state, [way.row for way in ways]
            )
            ways = [_Way(w.total, w.regret, w.pieces, row, w.places) for row, w in enumerate(ways)]
        return sorted(self.found.values(), key=lambda item: -item.total)

    def _go_on(self, ways: Sequence[_Way], regret: Floats) -> list[_Way]:
        offers: list[_Way] = []
        for way in ways:
            reached: dict[int, list[_Place]] = defaultdict(list)
            for item in way.places:
                self._end(way, item, float(regret[way.row, END]))
                for piece, step in self._steps(item[0], regret[way.row]):
                    place, prior, letters, said = step.place, item[1] + step.logprob, item[2], item[3]
                    letters += self.language.letters[piece]
                    reached[piece].append((place, prior, letters, said + step.words if step.words else said))
            for piece, places in reached.items():
                so_far = way.regret + float(regret[way.row, piece])
                places.sort(key=self._value, reverse=True)
                total = so_far + self._value(places[0])
                offers.append(_Way(total, so_far, (*way.pieces, piece), way.row, places[: self.width.places]))
        return self._kept(offers)

    def _steps(self, place: int, regret: Floats) -> Iterator[tuple[int, Step]]:
        """The likeliest ways on from a place."""
        fan = self.language.fan(place)
        if len(fan.pieces):
            for at in _greatest(regret[fan.pieces] + self.width.prior * fan.best, 2 * self.width.beam):
                for step in fan.ways[at]:
                    yield int(fan.pieces[at]), step
        if fan.begins or fan.goes_on:
            for piece in _greatest(regret, 2 * self.width.beam):
                text = self.language.pieces.texts[piece]
                for step in fan.begins if text.startswith(SPACE) else fan.goes_on:
                    if piece > END:
                        yield int(piece), replace(step, words=(ANY + text,))

    def _value(self, place: _Place) -> float:
        """What counts beside the sound: the prior, and letters up to the length of the free transcript."""
        _, prior, letters, _ = place
        return self.width.prior * prior + self.width.length * (min(letters, 2 * self.letters - letters))

    def _kept(self, offers: list[_Way]) -> list[_Way]:
        offers.sort(key=lambda way: -way.total)
        kept: list[_Way] = []
        twins: dict[tuple[int, Said], int] = defaultdict(int)
        for way in offers:
            if way.total < self.best - self.width.ahead or len(kept) == self.width.beam:
                break
            key = way.places[0][0], way.places[0][3]
            twins[key] += 1
            if twins[key] <= self.width.twins:
                kept.append(way)
        return kept

    def _end(self, way: _Way, place: _Place, end: float) -> None:
        """Take down a sentence that may end here."""
        final = self.language.end(place[0])
        if final is None or not place[3]:
            return
        total = way.regret + end + self._value(place) + self.width.prior * final
        known = self.found.get(place[3])
        if known is None or known.total < total:
            self.found[place[3]] = Sentence(place[3], way.pieces, way.regret + end, place[1] + final, total)
            self.best = max(self.best, total)


def _greatest(scores: Floats, many: int) -> Iterable[int]:
    """Where the greatest scores stand, in no order."""
    if len(scores) <= many:
        return range(len(scores))
    places: list[int] = np.argpartition(-scores, many - 1)[:many].tolist()
    return places


def spoken(said: Said) -> str:
    """The words of a sentence; what was written freely without case and marks."""
    text = "".join(part[1:] if part.startswith(ANY) and part != ANY else f"{SPACE}{part}" for part in said)
    words = (_MARKS.sub("", word) for word in text.replace(SPACE, " ").split())
    return " ".join(word.lower() for word in words if word)
