"""Five invented jobs from the agreed price to the balance, worked by hand in the docstrings.

Card: the starting card for GB, 60.00 an hour, so that minutes are pounds; VAT 20 %.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from tests.estimate.making import dent, field, job
from voicelog.estimate.agreements import with_agreements
from voicelog.estimate.card import default_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.invoices import Office, credit, document, next_number, to_invoice
from voicelog.estimate.ledger import balance, ledger, statement
from voicelog.estimate.payers import Parts, open_parts
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import snapshot, supplement
from voicelog.jobs.records import Extra, HandPrice, Issued, Job, Payment, Quote
from voicelog.journal import events as ev

D = Decimal
CARD = default_card("GB")
DAY = date(2026, 3, 2)
OFFICE = Office({"name": "Pellbrook Dent Repair"}, payment_days=14)


class Books:
    """The documents and payments of some jobs."""

    def __init__(self, card: Card = CARD) -> None:
        self.card = card
        self.events: list[ev.Event] = []

    def note(self, body: ev.Body, made: Job) -> None:
        number = len(self.events)
        self.events.append(
            ev.Event("", f"g{number}", "2026-03-02T09:00:00", number, "van", "", made.id, body)
        )

    def invoice(self, made: Job, *, crediting: str | None = None) -> str:
        """Issue what is to be invoiced, or take an invoice back; the total."""
        charged = to_invoice(made, self.card) if crediting is None else credit(made, crediting)
        assert charged is not None
        given = [event.body.number for event in self.events if isinstance(event.body, ev.Invoiced)]
        number = next_number(OFFICE, "van", DAY, given)
        terms = self.card.of_customer(made.get("customer")).terms
        data = document(made, charged, number, DAY, OFFICE, of=crediting, terms=terms)
        made.issued.append(Issued(number, data, DAY.isoformat(), crediting))
        self.note(ev.Invoiced(number, data, crediting), made)
        return str(data["total"]["low"])

    def paid(self, made: Job, amount: str, on: str = "2026-03-20", payer: str = "") -> None:
        made.payments.append(Payment(str(len(self.events)), D(amount), "GBP", "transfer", on, payer))
        self.note(ev.Paid(D(amount), "GBP", "transfer", on, payer=payer), made)


def accept(made: Job, card: Card = CARD) -> str:
    """Quote the job, or what came on top of its quote; accepted.  The total."""
    estimate = supplement(made) if made.quotes else price_job(made, card)
    assert estimate is not None
    assert estimate.confirmed
    version, first = len(made.quotes) + 1, 1 if made.quotes else None
    held = snapshot(made, estimate, card)
    made.quotes.append(Quote(version, held, f"2026-03-01T1{version}:00:00+00:00", first, accepted=True))
    return str(held["total"]["low"])


def named(number: int, customer: str, *dents: object) -> Job:
    made = job(*dents)  # type: ignore[arg-type]
    made.id, made.number = f"job-{number}", number
    made.details["customer"] = field(customer)
    return made


def test_a_dealers_round_of_fifteen_cars_with_one_statement(tmp_path: Path) -> None:
    """A wing at 45 flat, whatever is in it, no call-out: 45 × 1.2 = 54.00 a car.

    15 cars: 15 × 54 = 810.00.  Ten are paid with 540.00 on 20 March: 810 - 540 = 270.00 owed.
    """
    (tmp_path / "dealer.toml").write_text(
        'name = "Round"\ncustomers = ["Example Motors"]\nflat_by_panel = {wing = 45}\npayment_days = 30\n'
    )
    books = Books(with_agreements(CARD, tmp_path))
    cars = [named(n, "Example Motors", dent(1, "wing", 10 + n, side="left", count=n)) for n in range(1, 16)]
    assert {books.invoice(car) for car in cars} == {"54.00"}
    for car in cars[:10]:
        books.paid(car, "54.00")
    (account,) = statement(
        ledger(books.events), "Example Motors", "2026-03-01", "2026-03-31", date(2026, 4, 2)
    )
    assert (account.before, account.after, len(account.entries)) == (D(0), D("270.00"), 25)
    assert len(account.overdue) == 5


def test_an_insurers_job_with_a_supplement() -> None:
    """Agreed: roof 100 mm, 85 min: 85 × 1.2 = 102.00.

    Found when the head lining was down: 30 mm on the roof, second there, 26 × 60 % = 15.60, and the
    head lining off and on, 120: (15.6 + 120) × 1.2 = 162.72.  Work done meanwhile changes nothing.
    102 + 162.72 = 264.72, paid in two parts.
    """
    made, books = named(1, "Example Insurance", dent(1, "roof", 100)), Books()
    assert accept(made) == "102.00"
    made.timer.worked_s = 20_000
    made.dents[2] = dent(2, "roof", 30, access="trim-off", take_off=("head-lining",))
    made.order.append(2)
    assert accept(made) == "162.72"
    assert books.invoice(made) == "264.72"
    books.paid(made, "102.00")
    books.paid(made, "162.72")
    assert balance(ledger(books.events)) == 0


def test_a_hailed_car_at_its_caps() -> None:
    """An aluminium roof, 150 deep dents of 30 mm: the cap of 720 min with 25 and 50 % on it, 1260;

    a steel bonnet, 12 dents of 10 mm: 15 + 9 + 10 × 6 = 84; glue on both, 10 each: 20; the head lining, 120.
    1260 + 84 + 20 + 120 = 1484, less 10 %: 148.40, 1335.60; × 1.2 = 1602.72.
    """
    roof = dent(1, "roof", 30, count=150, depth="deep", material="aluminium", method="glue-pull",
                take_off=("head-lining",))  # fmt: skip
    made = named(1, "Ms Juno Aldercott", roof, dent(2, "bonnet", 10, count=12, method="glue-pull"))
    made.discount_percent = 10
    assert accept(made) == "1602.72"
    assert Books().invoice(made) == "1602.72"


def test_a_lease_return_for_an_agreed_sum() -> None:
    """A chipped dent by hand, 35; a door of 30 mm, 26; mirror glass, 18.50: 79.50.

    Called 75 before tax: 90.00.  A deposit of 40: 90 - 40 = 50.00 open.
    """
    chipped = dent(1, "bonnet", 20, features=("paint-broken",), method="push")
    made = named(1, "Mr Osric Tamblyn", chipped, dent(2, "door", 30, end="front", side="left"))
    made.hand_prices[1] = HandPrice(35, False, "")
    made.extras.append(Extra("e", "mirror glass", D("18.50")))
    assert price_job(made, CARD).net.low == D("79.50")
    made.hand_prices[None] = HandPrice(75, False, "")
    books = Books()
    assert accept(made) == "90.00"
    books.paid(made, "40", "2026-03-01")
    assert books.invoice(made) == "90.00"
    (invoice,) = [entry for entry in ledger(books.events) if entry.kind == "invoice"]
    assert invoice.open == D("50.00")


def test_a_job_credited_and_invoiced_anew() -> None:
    """Invoiced to the wrong sum: 85 × 1.2 = 102.00; credited: -102.00; the dent was 50 mm: 40 × 1.2 = 48.00.

    Paid 102.00 before: 102 - 102 + 48 - 102 = -54.00, to be given back.
    """
    made, books = named(1, "Ms Juno Aldercott", dent(1, "roof", 100)), Books()
    assert books.invoice(made) == "102.00"
    books.paid(made, "102.00", "2026-03-03")
    assert books.invoice(made, crediting=made.issued[0].number) == "-102.00"
    made.dents[1] = dent(1, "roof", 50)
    assert books.invoice(made) == "48.00"
    assert balance(ledger(books.events)) == D("-54.00")
    books.paid(made, "-54.00")
    assert balance(ledger(books.events)) == 0
    assert [one.number[-4:] for one in made.issued] == ["0001", "0002", "0003"]


class TestInsured:
    """An excess of 50: the customer bears it once a job, the insurer the rest (common practice, no source).

    Agreed and invoiced: roof 100 mm, 102.00: the customer 50.00, the insurer 102 - 50 = 52.00.
    Found later and invoiced: 30 mm on the roof and the head lining, 162.72: all of it the insurer's.
    """

    def issued(self) -> tuple[Job, Books]:
        made, books = named(1, "Ms Juno Aldercott", dent(1, "roof", 100)), Books()
        made.details |= {"insurer": field("Invented Mutual"), "excess": field(50)}
        accept(made)
        books.invoice(made)
        made.dents[2] = dent(2, "roof", 30, access="trim-off", take_off=("head-lining",))
        made.order.append(2)
        accept(made)
        assert books.invoice(made) == "162.72"
        return made, books

    def owed(self, books: Books, who: str) -> tuple[Decimal, Decimal]:
        """What the account ends with, and what is open of its invoices."""
        (account,) = statement(ledger(books.events), who, "2026-01-01", "2026-12-31", date(2027, 1, 1))
        return account.after, sum((entry.open for entry in account.entries), D(0))

    def test_each_owes_a_part(self) -> None:
        """50.00; 52 + 162.72 = 214.72; together 264.72."""
        made, books = self.issued()
        assert self.owed(books, "Ms Juno Aldercott") == (D("50.00"), D("50.00"))
        assert self.owed(books, "invented mutual") == (D("214.72"), D("214.72"))
        assert open_parts(made) == Parts(D("50"), D("214.72"))
        assert [entry.parts for entry in ledger(books.events)] == [
            Parts(D("50"), D("52.00")),
            Parts(D("0"), D("162.72")),
        ]

    @pytest.mark.parametrize(
        ("paid", "payer", "customer", "insurer"),
        [
            ("50", "", "0.00", "214.72"),  # The excess.
            ("214.72", "", "50.00", "0.00"),  # Just what the insurer owes.
            ("60", "", "0.00", "204.72"),  # 50 the customer's, 10 the insurer's.
            ("264.72", "", "0.00", "0.00"),
            ("40", "insurer", "50.00", "174.72"),
            ("60", "customer", "-10.00", "214.72"),  # The customer paid 10 too much: the insurer owes it all.
        ],
    )
    def test_a_payment_is_of_whoever_owes_it(
        self, paid: str, payer: str, customer: str, insurer: str
    ) -> None:
        made, books = self.issued()
        books.paid(made, paid, payer=payer)
        assert self.owed(books, "Ms Juno Aldercott")[0] == D(customer)
        assert self.owed(books, "Invented Mutual")[0] == D(insurer)
        assert open_parts(made) == Parts(D(customer), D(insurer))
        whole = ledger(books.events)
        assert balance(whole) == D(customer) + D(insurer)
        assert sum(e.open for e in whole) == max(D(customer), D(0)) + D(insurer)

    def test_a_credit_note_gives_each_the_own_part_back(self) -> None:
        """The second invoice credited: the insurer owes 52.00; both credited: nobody owes a penny."""
        made, books = self.issued()
        books.invoice(made, crediting=made.issued[1].number)
        assert open_parts(made) == Parts(D("50"), D("52.00"))
        books.invoice(made, crediting=made.issued[0].number)
        assert open_parts(made) == Parts()
        assert all(entry.open == 0 for entry in ledger(books.events))

    def test_an_excess_above_the_sum_is_the_customers_alone(self) -> None:
        """102.00 of an excess of 500; the supplement of 162.72 is still below it: 264.72 the customer's."""
        made, books = named(1, "Ms Juno Aldercott", dent(1, "roof", 100)), Books()
        made.details |= {"insurer": field("Invented Mutual"), "excess": field(500)}
        books.invoice(made)
        made.dents[2] = dent(2, "roof", 30, access="trim-off", take_off=("head-lining",))
        made.order.append(2)
        books.invoice(made)
        assert open_parts(made) == Parts(D("264.72"), D(0))
