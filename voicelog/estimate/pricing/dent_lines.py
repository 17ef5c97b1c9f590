"""The lines of single dents: figures, refusals and advice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Entry, Line, Range, Working
from voicelog.estimate.money import round_minutes
from voicelog.estimate.pricing.dent_options import DentOptions
from voicelog.estimate.pricing.line_texts import dent_text, value_text
from voicelog.estimate.pricing.possible_values import Choices
from voicelog.estimate.pricing.refusals import Refusal
from voicelog.estimate.pricing.scenario import Tally
from voicelog.jobs.records import Dent
from voicelog.meaning.place import Place, normal
from voicelog.units import format_number


@dataclass(frozen=True)
class Scenarios:
    """A job added up in its lowest and in its highest total."""

    low: Tally
    high: Tally


@dataclass(frozen=True)
class _Figures:
    """What the line of a dent shows besides its number: equal dents at equal shares share it."""

    minutes: Range
    amount: Range
    entries: tuple[Entry, ...]
    low: Working | None
    high: Working | None


def priced_line(number: int, text: str, place: Place, both: Scenarios, card: Card) -> Iterator[Line]:
    """The line of a dent with its figure; none where it is not priced."""
    found = _found(number, both, card)
    if found is not None:
        yield Line(
            "dent", text, (number,), place, found.minutes, found.amount,
            entries=found.entries, low=found.low, high=found.high,
        )  # fmt: skip


def _found(number: int, both: Scenarios, card: Card) -> _Figures | None:
    """What equal dents have in common is worked out once."""
    if both.low is not both.high:
        workings = (_working(number, both.low), _working(number, both.high))
        return None if workings == (None, None) else _figures(*workings, card)
    one = both.low.options[number]
    if one.effort is None:
        return None
    known: dict[Any, tuple[_Figures, Any]] = card.known("figures")
    made_of = (one.assessment, both.low.panels[one.spot].shares[number])
    key = (id(made_of[0]), id(made_of[1]), one.place)
    if key not in known:
        working = _working(number, both.low)
        # What the key points at is kept with it, so that the key stays its own.
        known[key] = (_figures(working, working, card), made_of)
    return known[key][0]


class DentLines:
    """The lines of dents on which something may be open."""

    def __init__(self, choices: Choices, both: Scenarios, card: Card) -> None:
        self._choices = choices
        self._both = both
        self._card = card

    def of(self, dent: Dent, options: DentOptions) -> Iterator[Line]:
        """The line with the dent's figure, if it may have one, then the reasons why it may have none."""
        text, place = self._text(dent)
        yield from priced_line(dent.number, text, place, self._both, self._card)
        every = [option.assessment.refusals for option in options.options]
        if not any(every):
            return
        how = "" if all(every) else "may not be priced: "
        for why in dict.fromkeys(refusal for refusals in every for refusal in refusals):
            yield Line("refusal", text, **_why(dent, place, why, how))

    def advice(self, dent: Dent, options: DentOptions) -> Iterator[Line]:
        """What to mind at a dent that may be priced."""
        found = [advice for option in options.options for advice in option.assessment.advice]
        for item in dict.fromkeys(item for option in options.options for item in sorted(option.take_off)):
            if item not in self._card.take_off:
                name = value_text("take_off", item, self._card)
                reason = f"the card has no minutes for the {name} off and on: not charged"
                found.append(Refusal("card", reason))
        if found:
            text, place = self._text(dent)
            yield from (Line("advice", text, **_why(dent, place, why, "")) for why in dict.fromkeys(found))

    def _text(self, dent: Dent) -> tuple[str, Place]:
        text = dent_text(dent, partial(self._choices.of, dent), self._card)
        return f"Dent {dent.number}: {text}", normal(dent.place)


def _figures(low: Working | None, high: Working | None, card: Card) -> _Figures:
    minutes = [ZERO if working is None else round_minutes(working.minutes) for working in (low, high)]
    amount = [ZERO if working is None else working.amount for working in (low, high)]
    return _Figures(Range(*minutes), Range(*amount), _entries(low, high, card), low, high)


def _why(dent: Dent, place: Place, found: Refusal, how: str) -> dict[str, Any]:
    return {
        "dents": (dent.number,),
        "place": place,
        "entries": found.entries,
        "cause": found.cause,
        "reason": how + found.reason,
    }


def _working(number: int, scenario: Tally) -> Working | None:
    option = scenario.options[number]
    effort = option.effort
    if effort is None:
        return None
    return Working(
        values=tuple(option.values.items()),
        place=option.place,
        base_points=effort.base_points,
        base_minutes=effort.base_minutes,
        adders=effort.adders,
        percent=effort.percent,
        extra_minutes=effort.extra_minutes,
        full_minutes=effort.full_minutes,
        shares=scenario.panels[option.spot].shares[number],
    )


def _entries(low: Working | None, high: Working | None, card: Card) -> tuple[Entry, ...]:
    """Every entry of the card behind a dent line, each once."""
    found: list[Entry] = []
    for working in (low,) if low == high else (low, high):
        if working is not None:
            base = [] if working.by_table else [_base_entry(working)]
            found += [*base, *working.adders, *_share_entries(working)]
    return tuple(dict.fromkeys([*found, card.rate_entry]))


def _base_entry(working: Working) -> Entry:
    shown = " to ".join(f"[{format_number(mm)}, {format_number(m)}]" for mm, m in working.base_points)
    return Entry("base", "points", shown, f"base {format_number(working.base_minutes)} min")


def _share_entries(working: Working) -> Iterator[Entry]:
    for share in working.shares:
        if share.entry is not None:
            yield share.entry
        elif share.key:
            text = format_number(share.percent)
            yield Entry("several", share.key, text, f"{share.dents} at {text} %")
