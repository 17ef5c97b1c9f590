"""Panels on which nothing is open: worked out once, and again only when one of their notes changes.

What is remembered hangs on the content of the notes and on the card alone, so it never gives an
old price: every note is compared with what it said before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter
from types import MappingProxyType
from typing import Any

from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO
from voicelog.estimate.pricing.dent_lines import Scenarios, priced_line
from voicelog.estimate.pricing.dent_options import Option, option_of
from voicelog.estimate.pricing.line_texts import dent_text
from voicelog.estimate.pricing.possible_values import OTHER_SLOTS, Choices
from voicelog.estimate.pricing.scenario import SettledPanels, Terms, tally
from voicelog.jobs.records import Dent, Job
from voicelog.meaning.place import Place, complete, could_be, normal

_SAID = attrgetter("slot", "question")
_NOT_ALONE = frozenset({"take_off", "density", "oversize", "square_mm"})
"""Slots by which a dent hangs on others, or on the card for its count or length."""


@dataclass(frozen=True, eq=False)
class _Note:
    """A note as it was when it was last looked at."""

    said: Sequence[Any]
    option: Option | None = None
    """What it is priced as; None where something about it is open or it is not simply priced."""
    text: str = ""
    damage: tuple[int, Mapping[str, Any]] = (0, {})


def settled_panels(job: Job, card: Card) -> SettledPanels:
    """Set apart the panels that no open dent can be on and on which every dent is simply priced."""
    dents = list(job.listed())
    made = SettledPanels(job, [dent.number for dent in dents])
    if job.references:
        return made  # They may have a say in every dent.
    groups, left = _by_panel(job, dents, card)
    reach = Choices(replace(job, order=left)).places if left else ()
    for place, notes in groups.items():
        if any(could_be(one, place) for one in reach):
            continue
        found = _worked_out(place, notes, card)
        made.panels.update(found.panels)
        made.dents.update(found.dents)
        made.minutes += found.minutes
    made.open = replace(job, order=[number for number in made.listed if number not in made.dents])
    return made


def _by_panel(job: Job, dents: Sequence[Dent], card: Card) -> tuple[dict[Place, list[_Note]], list[int]]:
    """Settled notes by place, and the numbers of all other dents."""
    known: dict[int, _Note] = card.known("notes")
    apart = {question.dent for question in job.questions.values()} | set(job.hand_prices)
    agreed = any(quote.accepted for quote in job.quotes)
    groups: dict[Place, list[_Note]] = {}
    left = []
    for dent in dents:
        number, fields = dent.number, dent.fields
        said = [*fields, *map(_SAID, fields.values())]
        note = known.get(number)
        if note is None or note.said != said:
            note = known[number] = _note(dent, said, card)
        option = note.option
        if option is None or dent.readings or number in apart or (agreed and "method" in fields):
            left.append(number)
        elif option.place in groups:
            groups[option.place].append(note)
        else:
            groups[option.place] = [note]
    return groups, left


def _note(dent: Dent, said: Sequence[Any], card: Card) -> _Note:
    known: dict[Any, tuple[Option, str, Mapping[str, Any]] | None] = card.known("settled notes")
    sure = all(held.slot.confirmed and held.question is None for held in dent.fields.values())
    key = tuple((slot, held.slot.value) for slot, held in dent.fields.items())
    if sure and key not in known:
        known[key] = _judged(dent, card)
    like = known[key] if sure else None
    if like is None:
        return _Note(said)
    option, text, values = like
    return _Note(said, option.for_dent(dent.number), f"Dent {dent.number}: {text}", (dent.number, values))


def _judged(dent: Dent, card: Card) -> tuple[Option, str, Mapping[str, Any]] | None:
    place = normal(dent.place)
    if None in (place[0], dent.get("material")) or not complete(place) or _NOT_ALONE & dent.fields.keys():
        return None
    option = option_of(card, dent.number, place, [*map(dent.get, OTHER_SLOTS), None, None])
    if option.effort is None or option.assessment.advice:
        return None
    text = dent_text(dent, lambda slot: (dent.get(slot),), card)
    return option, text, MappingProxyType(dent.values())


def _worked_out(place: Place, notes: Sequence[_Note], card: Card) -> SettledPanels:
    """A panel with its lines, as before where its notes are the same."""
    known: dict[Place, tuple[Sequence[_Note], SettledPanels]] = card.known("settled panels")
    if place not in known or known[place][0] != notes:
        one = tally([note.option for note in notes if note.option], Terms(), card)
        both = Scenarios(one, one)
        made = SettledPanels(panels=dict(one.panels))
        for note in notes:
            lines = tuple(priced_line(note.damage[0], note.text, place, both, card))
            made.dents[note.damage[0]] = (note.damage, lines)
            made.minutes += sum((line.minutes.low for line in lines), ZERO)
        known[place] = notes, made
    return known[place][1]
