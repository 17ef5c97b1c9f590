"""What every value of a job may be: from its records and its open questions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from itertools import product
from typing import Any

from voicelog.jobs.records import Dent, Field, Job, Past, Reading
from voicelog.meaning.note import SlotValue, Value
from voicelog.meaning.place import Place, closure, complete, could_be, may_be_one, most_exact, normal

PLACE_SLOTS = ("panel", "end", "side")
OTHER_SLOTS = (
    "material", "length_mm", "width_mm", "count", "shape", "depth", "features", "access", "take_off",
    "method", "hail", "density", "oversize", "square_mm",
)  # fmt: skip


class Choices:
    """Every value that the fields of one job may have, the value in force always first."""

    def __init__(self, job: Job, settled: Mapping[int, Value] | None = None) -> None:
        """Of a job; `settled` gives reference readings (by their place in the list) one value each."""
        self._job = job
        self._settled = settled or {}
        self._agreed = next((quote for quote in job.quotes if quote.accepted), None)
        self._asked = {(q.dent, q.slot): q.choices for q in job.questions.values()}
        self.dents = [dent for dent in job.listed() if dent.number not in job.hand_prices]
        """Those that the card prices."""
        self._of_panels: dict[Place, list[Reading]] = {}
        """Readings of hailed panels: one holds for every note there."""
        for dent in self.dents:
            if dent.of_hail and dent.readings:
                self._of_panels.setdefault(normal(dent.place), []).extend(dent.readings)
        self._known_spots: dict[tuple[Place, ...], tuple[tuple[Place, bool], ...]] = {}
        self._places = {dent.number: self._said_places(dent) for dent in self.dents}
        self._notes = Counter(place for places in self._places.values() for place in places)
        by_panel: dict[str | None, list[Place]] = {}
        for place in self._notes:
            by_panel.setdefault(place[0], []).append(place)
        self._closure = {panel: closure(places) for panel, places in by_panel.items()}

    @property
    def places(self) -> Iterable[Place]:
        """Every place that a dent may be said to be at."""
        return self._notes

    def of(self, dent: Dent, slot: str) -> tuple[Any, ...]:
        """Every value a dent's slot may have; (None,) where it was not said."""
        found = dent.fields.get(slot)
        if slot == "method" and self._agreed is not None:
            found = None if found is None else self._as_agreed(found)
            return (None,) if found is None else found.choices
        asked = self._asked.get((dent.number, slot), ()) if self._asked else ()
        if not asked:
            return (None,) if found is None else found.choices
        said = () if found is None else found.choices
        return tuple(dict.fromkeys((*said, *asked))) or (None,)

    def _as_agreed(self, method: Field) -> Field | None:
        """The method as it was agreed: what is tried later is work done, unless it was a correction."""
        assert self._agreed is not None
        last = method.history[-1] if method.history else None
        if last is None or self._was_agreed(last):
            return method
        if last.how == "corrected" and not method.slot.alternatives:
            return method
        before = [past for past in method.history[:-1] if self._was_agreed(past)]
        if not before or before[-1].value is None:
            return None
        return Field(SlotValue(before[-1].value))

    def _was_agreed(self, past: Past) -> bool:
        """Whether it was said before the accepted quote was given; ids of events are ordered by time."""
        assert self._agreed is not None
        if self._agreed.event:
            return past.event < self._agreed.event
        return datetime.fromisoformat(past.at) <= datetime.fromisoformat(self._agreed.at)

    def discounts(self) -> tuple[Decimal, ...]:
        """Every discount in percent that may have been given."""
        asked = self._asked.get((None, "discount_percent"), ())
        every = (self._job.discount_percent, *asked)
        return tuple(dict.fromkeys(Decimal(v) for v in every if isinstance(v, int | Decimal)))

    def open_slots(self, dent: Dent) -> dict[str, tuple[Value, ...]]:
        """Slots in doubt that a price may hang on, and slots with an open question."""
        found: dict[str, tuple[Value, ...]] = {}
        for slot in (*PLACE_SLOTS, *OTHER_SLOTS):
            choices = self.of(dent, slot)
            if len(choices) > 1 or (dent.number, slot) in self._asked:
                found[slot] = tuple(value for value in choices if value is not None)
        if any(_in_doubt(reading) for reading in dent.readings):
            found["paint_um"] = self.readings(dent)
        return found

    def open_references(self) -> dict[int, tuple[Value, ...]]:
        """Reference readings in doubt by their place in the job's list, with their choices."""
        return {n: r.um.choices for n, r in enumerate(self._job.references) if _in_doubt(r)}

    def with_reference(self, number: int, value: Value) -> Choices:
        """The same job with one reference reading settled."""
        return Choices(self._job, {**self._settled, number: value})

    def spots(self, dent: Dent) -> tuple[tuple[Place, bool], ...]:
        """The panels a dent may be on, each with whether it is surely alone there.

        A dent whose side or end was not said is on a panel of that name with others, who may be
        said in part themselves, or on one that no other dent is on.  Of places said more and
        less exactly only the most exact are tried: whoever shares the less exact one may as well
        be there, and sharing with more dents can only make it cheaper.
        """
        places = self._places[dent.number]
        known = self._known_spots.get(places)
        if known is not None:
            return known
        found: list[tuple[Place, bool]] = []
        for place in places:
            shared = [other for other in self._closure[place[0]] if could_be(place, other)]
            if complete(place) or (len(shared) == 1 and self._notes[place] == 1):
                found.append((place, False))
            else:
                found += [*((other, False) for other in most_exact(shared)), (place, True)]
        known = self._known_spots[places] = tuple(dict.fromkeys(found))
        return known

    def _said_places(self, dent: Dent) -> tuple[Place, ...]:
        parts = product(*(self.of(dent, slot) for slot in PLACE_SLOTS))
        return tuple(dict.fromkeys(normal(place) for place in parts))

    def _readings(self, dent: Dent) -> list[Reading]:
        return self._of_panels.get(normal(dent.place), []) if dent.of_hail else dent.readings

    def readings(self, dent: Dent) -> tuple[Any, ...]:
        """What the highest reading at the dent may be in µm; (None,) without any.

        The highest counts because one spot of filler is enough to lose the paint.
        """
        taken = self._readings(dent)
        if not taken:
            return (None,)
        every = [_numbers(reading.um.choices) for reading in taken]
        least = max(map(min, every))
        possible = sorted(value for values in every for value in values if value >= least)
        return tuple(dict.fromkeys((max(values[0] for values in every), *possible)))

    def references(self, place: Place) -> tuple[Any, ...]:
        """The mean reference for a panel in µm as said, at its least and at its most; (None,) without any.

        Readings taken for the panel count, else those taken for no panel in particular.  A
        price moves in one direction only as the reference rises, so the ends are enough.
        """
        fitting = {n: r for n, r in enumerate(self._job.references) if _fits(r, place)}
        chosen = {n: r for n, r in fitting.items() if r.panel is not None} or fitting
        if not chosen:
            return (None,)
        every = [
            _numbers([self._settled[n]] if n in self._settled else r.um.choices) for n, r in chosen.items()
        ]
        return tuple(dict.fromkeys(_mean(every, pick) for pick in (_first, min, max)))


def _in_doubt(reading: Reading) -> bool:
    return not reading.um.confirmed or reading.um.question is not None


def _numbers(values: Sequence[Value]) -> list[Decimal]:
    return [Decimal(value) for value in values if isinstance(value, int | Decimal)]


def _first(values: Sequence[Decimal]) -> Decimal:
    return values[0]


def _mean(every: Sequence[Sequence[Decimal]], pick: Callable[[Sequence[Decimal]], Decimal]) -> Decimal:
    return sum((pick(values) for values in every), Decimal(0)) / len(every)


def _fits(reading: Reading, place: Place) -> bool:
    return reading.panel is None or may_be_one((reading.panel, reading.end, reading.side), place)
