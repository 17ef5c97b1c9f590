"""Price agreements: what they change, what they leave, and that a quote keeps which one it was given by."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from tests.estimate.making import dent, field, job
from voicelog.errors import VoicelogError
from voicelog.estimate.agreements import load_agreements, with_agreements
from voicelog.estimate.card import default_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Range
from voicelog.estimate.invoices import Office, document, to_invoice, why_not
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import card_of, snapshot
from voicelog.jobs.records import Job

D = Decimal
DEALER = """
name = "Example Motors round"
customers = ["Example Motors", "Example Motors North"]
flat_by_panel = { bonnet = 70.00 }
percent = -10
call_out = 5
payment_days = 30
wanted = ["stock"]
"""


@pytest.fixture
def card(tmp_path: Path) -> Card:
    (tmp_path / "dealer.toml").write_text(DEALER, encoding="utf-8")
    return with_agreements(default_card("GB"), tmp_path)


def for_customer(name: str | None, **details: str) -> Job:
    """A roof dent of 85 minutes and three dents on the bonnet of 40 + 24 + 16."""
    made = job(dent(1, "roof", 100), *(dent(n, "bonnet", 50) for n in (2, 3, 4)))
    if name:
        made.details["customer"] = field(name)
    made.details.update({key: field(value) for key, value in details.items()})
    return made


def test_a_customer_with_an_agreement_pays_by_it(card: Card) -> None:
    """85 min at 60.00 less 10 % are 76.50, the bonnet is 70 flat, call-out 5: 151.50; else 85 + 80."""
    theirs = price_job(for_customer("example  MOTORS north"), card)
    assert theirs.net == Range.of(D("151.50"))
    flat = next(line for line in theirs.lines if line.kind == "cap")
    assert flat.text == "Flat price: bonnet"
    assert sum(line.amount.low for line in theirs.lines if line.amount and line.counts) == theirs.total.low
    for other in (None, "Somebody Else"):
        assert price_job(for_customer(other), card).net == Range.of(D("165.00"))


def test_a_flat_price_holds_for_one_dent_and_for_fifty(card: Card) -> None:
    for count in (1, 50):
        made = job(dent(1, "bonnet", 20, count=count))
        made.details["customer"] = field("Example Motors")
        assert price_job(made, card).net == Range.of(D("75.00"))


def test_a_quote_keeps_which_agreement_it_was_given_by(card: Card) -> None:
    made = for_customer("Example Motors")
    held = snapshot(made, price_job(made, card), card)
    assert held["agreement"] == "Example Motors round"
    assert card_of(held).hourly_rate == D(54)
    assert price_job(made, card_of(held)).total == price_job(made, card).total


def test_terms_and_wanted_references_reach_the_invoice(card: Card) -> None:
    made = for_customer("Example Motors")
    charged, terms = to_invoice(made, card), card.of_customer("Example Motors").terms
    assert charged is not None
    assert why_not(made, charged, terms) == ["Example Motors round wants the stock"]
    with_stock = for_customer("Example Motors", stock="S 4471")
    assert not why_not(with_stock, charged, terms)
    data = document(with_stock, charged, "A-1", date(2026, 3, 2), Office(payment_days=14), terms=terms)
    assert (data["due_on"], data["references"]["stock"]) == ("2026-04-01", "S 4471")


def test_another_card_may_be_agreed_on(tmp_path: Path) -> None:
    (tmp_path / "insurer.card").write_text(default_card("GB").text.replace("= 60.00", "= 45.00"))
    (tmp_path / "insurer.toml").write_text('name="I"\ncustomers=["Insurer"]\ncard="insurer.card"\n')
    card = with_agreements(default_card("GB"), tmp_path)
    made = job(dent(1, "roof", 100))
    made.details["customer"] = field("Insurer")
    assert price_job(made, card).net == Range.of(D("63.75"))
    assert price_job(made, default_card("GB")).net == Range.of(D("85.00"))  # the starting card knows of none


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("name = 'x'", "customers is missing"),
        ("name = 'x'\ncustomers = []", "at least 1 item"),
        ("name = 'x'\ncustomers = ['a']\npercnt = 3", "did you mean percent?"),
        ("name = 'x'\ncustomers = ['a']\nflat_by_panel = {bonet = 3}", "did you mean bonnet?"),
        ("name = 'x'\ncustomers = ['Example motors']", "has an agreement in dealer.toml already"),
    ],
)
def test_an_agreement_is_checked_like_a_card(tmp_path: Path, text: str, line: str) -> None:
    (tmp_path / "dealer.toml").write_text(DEALER, encoding="utf-8")
    (tmp_path / "other.toml").write_text(text, encoding="utf-8")
    with pytest.raises(VoicelogError, match=r"other\.toml") as caught:
        load_agreements(tmp_path)
    assert line in caught.value.line()
