"""Price agreements: what a customer pays by, as a card of its own made from the workshop's.

An agreement is a TOML file of the folder `agreements`.  It changes single entries of the card's
text, so that the card it gives is checked, explained, hashed and stored with a quote like any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

import tomlkit
from pydantic import Field

from voicelog.errors import VoicelogError
from voicelog.estimate.card import load_card, read_card
from voicelog.estimate.card.model import (
    HUNDRED,
    Amount,
    Card,
    PanelName,
    Percent,
    Share,
    Wanted,
    customer_key,
)
from voicelog.toml_model import Number, Text, TomlModel, load_toml


class Agreement(TomlModel):
    """What was agreed with some customers; what is not named is as on the card."""

    name: Text
    customers: Annotated[tuple[Text, ...], Field(min_length=1)]
    """Names as they are noted on jobs; case and spaces do not matter."""
    card: Text | None = None
    """Path of another card, from the folder of the agreement."""
    hourly_rate: Annotated[Number, Field(gt=0)] | None = None
    percent: Percent = Decimal(0)
    """On the hourly rate: less than nought for a reduction."""
    flat_by_panel: Mapping[PanelName, Amount] = {}
    """Prices of whole panels, whatever their dents."""
    tax_percent: Share | None = None
    call_out: Amount | None = None
    minimum: Amount | None = None
    payment_days: Annotated[int, Field(ge=0, le=3650)] | None = None
    wanted: tuple[Wanted, ...] = ()
    """References without which nothing is invoiced."""


def load_agreements(folder: Path) -> list[tuple[Path, Agreement]]:
    """The agreements of a folder, in the order of their names; none where there is no folder.

    Raises:
        VoicelogError: a file is no valid agreement, or two agreements are for one customer.
    """
    found = [
        (path, load_toml(Agreement, path, parse_float=Decimal, todo="mend the agreement"))
        for path in sorted(folder.glob("*.toml"))
    ]
    named: dict[str, Path] = {}
    for path, agreement in found:
        for customer in agreement.customers:
            other = named.setdefault(customer_key(customer), path)
            if other != path:
                what = f"{customer} has an agreement in {other.name} already"
                raise VoicelogError(what, where=str(path), todo="name each customer in one file")
    return found


def with_agreements(card: Card, folder: Path) -> Card:
    """The card, with a card of their own for the customers of the agreements in `folder`."""
    own = {}
    for path, agreement in load_agreements(folder):
        base = card if agreement.card is None else load_card(path.parent / agreement.card)
        made = read_card(agreed_text(base, agreement), str(path))
        own.update({customer_key(customer): made for customer in agreement.customers})
    return card.model_copy().with_customers(own)


def agreed_text(card: Card, agreement: Agreement) -> str:
    """The text of the card with the agreement's entries in it."""
    document: Any = tomlkit.parse(card.text)
    rate = agreement.hourly_rate or card.hourly_rate
    if agreement.hourly_rate is not None or agreement.percent:
        document["hourly_rate"] = _number(rate * (HUNDRED + agreement.percent) / HUNDRED)
    _set(document, "tax", {"percent": agreement.tax_percent})
    _set(document, "charges", {"call_out": agreement.call_out, "minimum": agreement.minimum})
    _set(document, "flat_by_panel", agreement.flat_by_panel)
    terms = {"agreement": agreement.name, "payment_days": agreement.payment_days}
    _set(document, "terms", {**terms, "wanted": list(agreement.wanted) or None})
    return tomlkit.dumps(document)


def _set(document: Any, name: str, entries: Mapping[str, Any]) -> None:
    for key, value in entries.items():
        if value is not None:
            if name not in document:
                document[name] = tomlkit.table()
            document[name][key] = _number(value) if isinstance(value, Decimal) else value


def _number(value: Decimal) -> Any:
    """A number of TOML without needless noughts, at most six decimals."""
    text = f"{round(value, 6).normalize():f}"
    return tomlkit.float_(text) if "." in text else tomlkit.integer(text)
