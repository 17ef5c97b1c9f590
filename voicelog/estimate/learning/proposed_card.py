"""From what was learned to a proposed rate card, comments and all, beside the old one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import tomlkit

from voicelog.errors import VoicelogError
from voicelog.estimate.card import read_card
from voicelog.estimate.card.model import Adder, Card
from voicelog.estimate.learning.learn import ALL, Factor, Proposal
from voicelog.estimate.learning.observations import SIZE, size_band

LEAST_JOBS = 3
"""Jobs behind a factor before the card is touched for it."""


@dataclass(frozen=True)
class Change:
    """One proposed change of a card."""

    table: str
    key: str
    old: str
    new: str
    why: Factor

    def text(self) -> str:
        """For people: "[adders.shape] crease: 40 -> 69 percent, because shape crease: × 1.21 …"."""
        return f"[{self.table}] {self.key}: {self.old} -> {self.new}, because {self.why.text()}"


def changes(proposal: Proposal, card: Card) -> list[Change]:
    """The changes a card would need, for factors that are clear and have `LEAST_JOBS` behind them.

    A factor multiplies all minutes of a dent while the card sums its percentages, so a changed
    percentage is exact for a dent with this adder alone and near for one with several.
    """
    clear = [factor for factor in proposal.factors if factor.clear and factor.jobs >= LEAST_JOBS]
    return [*_points(clear, card), *_adders(clear, card)]


def proposed_card_text(proposal: Proposal, card: Card) -> tuple[str, list[Change]]:
    """The text of a card with the changes in it, each with a comment, and the changes themselves.

    A change that would make the card invalid is left out.  Without changes the text is the old one.

    Raises:
        VoicelogError: the proposal was not made with this card.
    """
    if proposal.jobs and proposal.card != card.hash:
        raise VoicelogError("the proposal was learned with another card", todo="learn again with this card")
    text, made = card.text, []
    for change in changes(proposal, card):
        tried = _changed(text, change)
        with suppress(VoicelogError):
            text = read_card(tried).text
            made.append(change)
    return text, made


def _points(clear: Sequence[Factor], card: Card) -> Iterator[Change]:
    """New minutes for the base table, never falling.

    Each point moves with all work and with the bands on both sides of it, half by each.
    """
    every = next((factor for factor in clear if factor.slot == ALL[0]), None)
    bands = {factor.level: factor for factor in clear if factor.slot == SIZE}
    if every is None and not bands:
        return
    names = [size_band(mm, card) for mm, _ in card.points]
    minutes: list[Decimal] = []
    reasons: list[Factor] = []
    for index, (_, old) in enumerate(card.points):
        beside = [bands.get(name) for name in names[index : index + 2]]
        factor = 1.0 if every is None else every.factor
        for band in beside:
            factor *= 1.0 if band is None else band.factor ** (1 / len(beside))
        new = round(old * Decimal(repr(factor)), 1)
        minutes.append(max([new, *minutes[-1:]]))
        reasons.extend(found for found in (every, *beside) if found is not None)
    old_text, new_text = (", ".join(f"{value.normalize():f}" for value in values)
                          for values in ([m for _, m in card.points], minutes))  # fmt: skip
    yield Change("base", "points", old_text, new_text, reasons[0])


def _adders(clear: Sequence[Factor], card: Card) -> Iterator[Change]:
    for factor in clear:
        if factor.slot in (ALL[0], SIZE):
            continue
        old = card.adders.of(factor.slot).get(factor.level, Adder()).percent
        new = round((1 + old / 100) * Decimal(repr(factor.factor)) * 100 - 100)
        yield Change(
            f"adders.{factor.slot}", factor.level, f"{old.normalize():f} percent", f"{new} percent", factor
        )


def _changed(text: str, change: Change) -> str:
    """The card's text with one change; everything else stays as it was written."""
    document = tomlkit.parse(text)
    note = f"was {change.old}; {change.why.text()}"
    if change.table == "base":
        points: Any = document["base"]["points"]
        for point, minutes in zip(points, change.new.split(", "), strict=True):
            point[1] = _number(minutes)
        points.comment(note)
        return tomlkit.dumps(document)
    table: Any = document
    for name in change.table.split("."):
        if name not in table:
            table[name] = tomlkit.table()
        table = table[name]
    percent = _number(change.new.split()[0])
    if isinstance(table.get(change.key), Mapping):
        table[change.key]["percent"] = percent
    else:
        entry = tomlkit.inline_table()
        entry["percent"] = percent
        table[change.key] = entry
    table[change.key].comment(note)
    return tomlkit.dumps(document)


def _number(text: str) -> Any:
    """A TOML number written as it is read."""
    return tomlkit.float_(text) if "." in text else tomlkit.integer(text)
