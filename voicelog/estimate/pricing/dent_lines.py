"""The lines of single dents: figures, refusals and advice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
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


def dent_lines(
    dent: Dent, options: DentOptions, choices: Choices, both: Scenarios, card: Card
) -> Iterator[Line]:
    """The line with the dent's figure, if it may have one, then the reasons why it may have none."""
    text, place = dent_text(dent, choices, card), normal(dent.place)
    low, high = _working(dent.number, both.low), _working(dent.number, both.high)
    if low is not None or high is not None:
        minutes = Range(
            *(ZERO if working is None else round_minutes(working.minutes) for working in (low, high))
        )
        amount = Range(*(ZERO if working is None else working.amount for working in (low, high)))
        entries = _entries(low, high, card)
        yield Line("dent", text, (dent.number,), place, minutes, amount, entries=entries, low=low, high=high)
    every = [option.assessment.refusals for option in options.options]
    how = "" if all(every) else "may not be priced: "
    for found in dict.fromkeys(refusal for refusals in every for refusal in refusals):
        yield Line("refusal", text, **_why(dent, place, found, how))


def dent_advice(dent: Dent, options: DentOptions, choices: Choices, card: Card) -> Iterator[Line]:
    """What to mind at a dent that may be priced."""
    every = [option.assessment.advice for option in options.options]
    found = list(dict.fromkeys(advice for advices in every for advice in advices))
    parts = dict.fromkeys(item for option in options.options for item in sorted(option.take_off))
    for item in parts:
        if item not in card.take_off:
            name = value_text("take_off", item, card)
            found.append(Refusal("card", f"the card has no minutes for the {name} off and on: not charged"))
    if found:
        text, place = dent_text(dent, choices, card), normal(dent.place)
        yield from (Line("advice", text, **_why(dent, place, advice, "")) for advice in found)


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
            found += [_base_entry(working), *working.adders, *_share_entries(working)]
    return tuple(dict.fromkeys([*found, card.rate_entry]))


def _base_entry(working: Working) -> Entry:
    shown = " to ".join(f"[{format_number(mm)}, {format_number(m)}]" for mm, m in working.base_points)
    return Entry("base", "points", shown, f"base {format_number(working.base_minutes)} min")


def _share_entries(working: Working) -> Iterator[Entry]:
    for share in working.shares:
        if share.key:
            text = format_number(share.percent)
            yield Entry("several", share.key, text, f"{share.dents} at {text} %")
