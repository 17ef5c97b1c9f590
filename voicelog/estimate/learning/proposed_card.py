"""From what was learned to a proposed rate card, comments and all, beside the old one.

Only `[speed]` is proposed: how long work takes this person.  Prices stay as they are.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import tomlkit

from voicelog.errors import VoicelogError
from voicelog.estimate.card import read_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.learning.learn import ALL, Factor, Proposal

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
        """For people: "[speed.by_value.shape] crease: 1 -> 1.21, because shape crease: × 1.21 …"."""
        return f"[{self.table}] {self.key}: {self.old} -> {self.new}, because {self.why.text()}"


def changes(proposal: Proposal, card: Card) -> list[Change]:
    """The changes a card would need, for factors that are clear and have `LEAST_JOBS` behind them."""
    found = []
    for factor in proposal.factors:
        if not factor.clear or factor.jobs < LEAST_JOBS:
            continue
        if factor.slot == ALL[0]:
            table, key, old = "speed", "all", card.speed.all
        else:
            table, key = f"speed.by_value.{factor.slot}", factor.level
            old = card.speed.by_value.get(factor.slot, {}).get(factor.level, type(card.speed.all)(1))
        found.append(Change(table, key, f"{old.normalize():f}", f"{factor.factor:.2f}", factor))
    return [change for change in found if change.old != change.new]


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
        with suppress(VoicelogError):
            text = read_card(_changed(text, change)).text
            made.append(change)
    return text, made


def _changed(text: str, change: Change) -> str:
    """The card's text with one change; everything else stays as it was written."""
    document = tomlkit.parse(text)
    table: Any = document
    for name in change.table.split("."):
        if name not in table:
            table[name] = tomlkit.table()
        table = table[name]
    table[change.key] = tomlkit.float_(change.new)
    table[change.key].comment(f"was {change.old}; {change.why.text()}")
    return tomlkit.dumps(document)
