"""The material of a panel: said once it holds for every dent there, never said it is any usual one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from voicelog.estimate.card.model import Adder, Card
from voicelog.estimate.pricing.possible_values import Choices
from voicelog.jobs.records import Dent
from voicelog.meaning.place import Place, normal

SLOT = "material"


@dataclass(frozen=True)
class Material:
    """What the material of a dent may be on one of its panels."""

    values: tuple[str | None, ...]
    """The one in force first."""
    loose: bool = False
    """Whether not every combination with the values of other dents can be."""


class PanelMaterials:
    """Who says what on which panel."""

    def __init__(self, choices: Choices, card: Card) -> None:
        self._choices = choices
        self._card = card
        self._sure: dict[Place, list[tuple[str, ...]]] = {}
        """What dents say that are surely on a panel."""
        self._perhaps: dict[Place, list[tuple[str, ...]]] = {}
        """What dents say that may be on a panel."""
        self._silent: dict[Place, int] = {}
        for dent in choices.dents:
            self._note(dent)
        self._known: dict[tuple[Place, bool], Material] = {}

    def _note(self, dent: Dent) -> None:
        said = tuple(value for value in self._choices.of(dent, SLOT) if isinstance(value, str))
        shared = [place for place, alone in self._choices.spots(dent) if not alone]
        for place in shared:
            if not said:
                self._silent[place] = self._silent.get(place, 0) + 1
            else:
                spots = self._choices.spots(dent)
                found = self._sure if len(spots) == 1 else self._perhaps
                found.setdefault(place, []).append(said)

    def of(self, dent: Dent, place: Place, *, alone: bool) -> Material:
        """What the dent's material may be at `place`, where it may be `alone` on its panel."""
        said = self._choices.of(dent, SLOT)
        if said != (None,):
            return Material(said)
        found = self._known.get((place, alone))
        if found is None:
            found = self._known[place, alone] = self._unsaid(place, alone)
        return found

    def unsaid(self) -> Iterator[tuple[Place, list[Dent], tuple[str, ...]]]:
        """Panels, as far as said, whose material nobody said: their dents and what it may be."""
        silent: dict[Place, list[Dent]] = {}
        for dent in self._choices.dents:
            if self._choices.of(dent, SLOT) == (None,):
                silent.setdefault(normal(dent.place), []).append(dent)
        for place, dents in silent.items():
            values = tuple(filter(None, self.of(dents[0], place, alone=False).values))
            if len(values) > 1:
                yield place, dents, values

    def _unsaid(self, place: Place, alone: bool) -> Material:
        usual = self._card.usual_material.of(place[0])
        sure, perhaps = ([], []) if alone else (self._sure.get(place, []), self._perhaps.get(place, []))
        every = [value for said in (*sure, *perhaps) for value in said]
        values = tuple(dict.fromkeys(every if sure else (*usual, *every)))
        together = self._silent.get(place, 0) + sum(len(said) > 1 for said in sure)
        loose = len(values) > 1 and (bool(perhaps) or (together > 1 and not self._ordered(values)))
        return Material(values, loose)

    def _ordered(self, values: Sequence[str]) -> bool:
        """Whether the dearest of them is the dearest for every dent, however long."""
        adders = [self._card.adders.material.get(value, Adder()) for value in values]
        adders.sort(key=lambda adder: (adder.percent, adder.minutes))
        return all(one.minutes <= other.minutes for one, other in pairwise(adders))
