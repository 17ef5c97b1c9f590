"""Invoices, credit notes and payments: what they hold, how they are numbered, that they add up."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.estimate.making import dent, field, job
from voicelog.estimate.card import default_card, read_card
from voicelog.estimate.estimate import Range
from voicelog.estimate.invoices import Office, credit, document, next_number, to_invoice, why_not
from voicelog.estimate.ledger import balance, ledger, statement
from voicelog.estimate.money import round_money
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import agreed, snapshot, supplement
from voicelog.jobs.changes import change
from voicelog.jobs.records import Extra, Issued, Job, Quote
from voicelog.journal import events as ev

D = Decimal
CARD = default_card("GB")
OFFICE = Office(
    {"name": "Pellbrook Dent Repair", "address": ["1 Mill Lane"], "tax_number": "GB0"}, "INV-", 14
)
TODAY = date(2026, 3, 2)


def issue(made: Job, number: str, of: str | None = None, office: Office = OFFICE) -> dict[str, Any]:
    """Issue what is to be invoiced of a job."""
    charged = to_invoice(made, CARD)
    assert charged is not None
    data = document(made, charged, number, TODAY, office, of=of)
    made.issued.append(Issued(number, data, TODAY.isoformat(), of))
    return data


def quote(made: Job, version: int, *, more: bool = False) -> None:
    estimate = supplement(made) if more else price_job(made, CARD)
    assert estimate is not None
    held = snapshot(made, estimate, CARD)
    made.quotes.append(Quote(version, held, "2026-03-01T10:00:00+00:00", 1 if more else None, True))


def test_an_invoice_holds_what_the_law_asks() -> None:
    """Source: directive 2006/112/EC art. 226 (1) to (10) and HMRC notice 700, 16.3, from memory.

    Date of issue, sequential number, seller's tax number, names and addresses, quantity and nature,
    date of supply, taxable amount and rate, tax.
    """
    made = job(dent(1, "roof", 100), finished_at="2026-03-01T16:00:00+00:00")
    for name, text in (("customer", "Ms Juno Aldercott"), ("address", "3 Weir Street"), ("plate", "TR26VWX")):
        made.details[name] = field(text)
    data = issue(made, "INV-2026-AAAA-0001")
    assert (data["invoice"], data["issued_on"], data["due_on"]) == (
        "INV-2026-AAAA-0001", "2026-03-02", "2026-03-16",
    )  # fmt: skip
    assert data["supplied_on"] == "2026-03-01"
    assert data["seller"]["tax_number"] == "GB0"
    assert data["buyer"] == {"name": "Ms Juno Aldercott", "postal_address": "3 Weir Street"}
    assert data["references"]["registration"] == "TR26VWX"
    assert (data["net"]["low"], data["tax"]["low"], data["total"]["low"]) == ("85.00", "17.00", "102.00")
    assert data["tax"]["name"] == "VAT"
    assert [line["text"] for line in data["lines"]] == ["Dent 1: roof, 100 mm, steel", "VAT 20 %"]


def test_the_tax_is_the_rate_on_the_sum_of_net_lines() -> None:
    """EN 16931 BR-CO-10, 15 and 17: net is the sum of lines, tax is net × rate, total is both."""
    made = job(*(dent(n, "door", 33, end=end, side=side) for n, (end, side) in enumerate(
        [("front", "left"), ("front", "right"), ("rear", "left")], 1)))  # fmt: skip
    data = issue(made, "A-1")
    lines = sum((D(line["amount"]["low"]) for line in data["lines"] if line["kind"] != "tax"), D(0))
    net, tax, total = (D(data[name]["low"]) for name in ("net", "tax", "total"))
    assert net == lines
    assert tax == round_money(net * 20 / 100, "GBP")
    assert total == net + tax


def test_numbers_are_of_a_series_for_each_device_and_year() -> None:
    """Source: art. 226 (2), "a sequential number, based on one or more series" (from memory)."""
    given: list[str] = []
    for device in ("one", "two", "one"):
        given.append(next_number(OFFICE, device, TODAY, given))
    assert given[0] != given[1]
    assert given[2] == given[0][:-1] + "2"
    assert next_number(OFFICE, "one", date(2027, 1, 1), given).endswith("-0001")
    assert len({number.rpartition("-")[0] for number in given}) == 2


def test_an_invoice_never_changes_and_later_changes_are_documents_of_their_own() -> None:
    made = job(dent(1, "roof", 100))
    quote(made, 1)
    first = dict(issue(made, "A-1"))
    assert to_invoice(made, CARD) is None
    made.dents[2] = dent(2, "bonnet", 30)
    made.order.append(2)
    assert to_invoice(made, CARD) is None  # found later, not agreed yet
    quote(made, 2, more=True)
    assert issue(made, "A-2", "A-1")["total"]["low"] == "31.20"
    assert made.issued[0].snapshot == first
    back = credit(made, "A-1")
    assert back is not None
    assert back.total == Range.of(D("-102.00"))
    note = document(made, back, "A-3", TODAY, OFFICE, of="A-1")
    assert (note["kind"], note["of"], note["due_on"]) == ("credit-note", "A-1", None)
    made.issued.append(Issued("A-3", note, "2026-03-03", "A-1"))
    assert credit(made, "A-1") is None
    assert credit(made, "A-3") is None
    again = issue(made, "A-4", "A-1")
    assert again["total"]["low"] == "102.00"
    assert to_invoice(made, CARD) is None


def test_less_work_than_invoiced_becomes_a_credit_note() -> None:
    made = job(dent(1, "roof", 100), dent(2, "bonnet", 30))
    issue(made, "A-1")
    made.dents[2].removed = True
    data = issue(made, "A-2", "A-1")
    assert (data["kind"], data["total"]["low"]) == ("credit-note", "-31.20")


def test_what_speaks_against_an_invoice_is_named() -> None:
    def reasons(made: Job) -> list[str]:
        charged = to_invoice(made, CARD)
        assert charged is not None
        return why_not(made, charged)

    assert reasons(job()) == ["the total is nought"]
    assert reasons(job(dent(1, "roof", [15, 50]))) == ["dent 1: length 15 or 50 mm"]
    assert reasons(job(dent(1, "roof", 400), dent(2, "bonnet", 30))) == ["dent 1 has no price"]
    vin = job(dent(1, "roof", 30))
    vin.details["vin"] = field("1M8GDM9AXKP042788", "1M8GDM9AXKP042789")
    assert reasons(vin) == ["the VIN is not settled"]
    offered = job(dent(1, "roof", 30))
    quote(offered, 1)
    offered.quotes[0].accepted = None
    assert reasons(offered) == ["quote 1 is not accepted"]
    offered.quotes[0].accepted = True
    assert reasons(offered) == []


class Account(RuleBasedStateMachine):
    """A job from the first dent to the last payment, in any order."""

    @initialize(included=st.booleans(), tax=st.sampled_from(["0", "6.875", "20"]))
    def begin(self, included: bool, tax: str) -> None:
        text = CARD.text.replace("included = false", f"included = {str(included).lower()}")
        self.card = read_card(text.replace("percent = 20 ", f"percent = {tax} "))
        self.job = job()
        self.events: list[ev.Event] = []
        self.paid = D(0)

    def do(self, body: ev.Body) -> None:
        group = f"g{len(self.events)}"
        event = ev.Event("", group, "2026-03-02T09:00:00+00:00", len(self.events), "d", "", "job-1", body)
        self.events.append(event)
        change(self.job, event)

    @rule(length=st.integers(5, 300), count=st.integers(1, 4), panel=st.sampled_from(["roof", "bonnet"]))
    def find(self, length: int, count: int, panel: str) -> None:
        number = len(self.job.dents) + 1
        self.job.dents[number] = dent(number, panel, length, count=count)
        self.job.order.append(number)

    @rule(pick=st.randoms(use_true_random=False))
    def take_off(self, pick: random.Random) -> None:
        if self.job.order:
            self.job.dents[pick.choice(self.job.order)].removed = True

    @rule(amount=st.decimals(1, 500, places=2))
    def add(self, amount: Decimal) -> None:
        self.job.extras.append(Extra(f"e{len(self.job.extras)}", f"part {len(self.job.extras)}", amount))

    @rule(amount=st.decimals(1, 900, places=2), taxed=st.booleans())
    def call_it(self, amount: Decimal, taxed: bool) -> None:
        self.do(ev.PricedByHand(amount, None, taxed))

    @rule()
    def by_the_card_again(self) -> None:
        self.do(ev.PricedByHand(None))

    @rule()
    def quote(self) -> None:
        """A quote that is given is accepted here; once one was, a supplement to it."""
        held = agreed(self.job)
        estimate = price_job(self.job, self.card) if held is None else supplement(self.job)
        if estimate is not None:
            version = len(self.job.quotes) + 1
            first = self.job.quotes[0].version if self.job.quotes else None
            self.do(ev.Quoted(version, snapshot(self.job, estimate, self.card), first))
            self.do(ev.QuoteSettled(version, True))

    @rule()
    def invoice(self) -> None:
        charged = to_invoice(self.job, self.card)
        if charged is not None:
            self._issue(charged, None)

    @rule(pick=st.randoms(use_true_random=False))
    def credit(self, pick: random.Random) -> None:
        if self.job.issued:
            number = pick.choice(self.job.issued).number
            back = credit(self.job, number)
            if back is not None:
                self._issue(back, number)

    def _issue(self, charged: Any, of: str | None) -> None:
        number = next_number(OFFICE, "d", TODAY, [one.number for one in self.job.issued])
        self.do(ev.Invoiced(number, document(self.job, charged, number, TODAY, OFFICE, of=of), of))

    @rule(amount=st.decimals(-50, 500, places=2))
    def pay(self, amount: Decimal) -> None:
        self.do(ev.Paid(amount, "GBP", "cash", "2026-03-05"))
        self.paid += amount

    @invariant()
    def accepted_and_supplements_and_credit_notes_are_the_balance(self) -> None:
        """Sum of documents = what was agreed (or is to be charged) less what is still to be invoiced."""
        if not hasattr(self, "job"):
            return
        owed = agreed(self.job) or price_job(self.job, self.card)
        rest = to_invoice(self.job, self.card)
        issued = sum((D(one.snapshot["total"]["low"]) for one in self.job.issued), D(0))
        left = D(0) if rest is None else rest.total.low
        assert issued + left == owed.total.low
        entries = ledger(self.events)
        assert balance(entries) == issued - self.paid

    @invariant()
    def any_order_and_any_number_of_merges_give_the_same_ledger(self) -> None:
        if not hasattr(self, "job"):
            return
        shuffled = [*self.events, *self.events[::2]]
        random.Random(len(self.events)).shuffle(shuffled)
        assert ledger(shuffled) == ledger(self.events)

    @invariant()
    def lines_and_taxes_of_each_document_add_up(self) -> None:
        for one in getattr(self, "job", job()).issued:
            data = one.snapshot
            counting = [line for line in data["lines"] if line["amount"] is not None and line["counts"]]
            assert sum((D(line["amount"]["low"]) for line in counting), D(0)) == D(data["total"]["low"])
            assert D(data["net"]["low"]) + D(data["tax"]["low"]) == D(data["total"]["low"])


TestAccount = Account.TestCase
TestAccount.settings = settings(deadline=None, max_examples=40, stateful_step_count=14)


def test_payments_cover_the_oldest_invoice_first_and_the_rest_is_overdue() -> None:
    one = job(dent(1, "roof", 100))
    one.details["customer"] = field("Example Motors")
    issue(one, "A-1")
    one.dents[2] = dent(2, "bonnet", 30)
    one.order.append(2)
    issue(one, "A-2", "A-1")
    events = [_event(ev.Invoiced(each.number, each.snapshot, each.of)) for each in one.issued]
    events.append(_event(ev.Paid(D("110.00"), "GBP", "transfer", "2026-03-20")))
    entries = ledger(events)
    assert {entry.number: entry.open for entry in entries if entry.kind == "invoice"} == {
        "A-1": D("0.00"), "A-2": D("23.20"),
    }  # fmt: skip
    assert [entry.number for entry in entries if entry.overdue(date(2026, 3, 17))] == ["A-2"]
    assert not any(entry.overdue(date(2026, 3, 16)) for entry in entries)
    (account,) = statement(entries, "example  motors", "2026-03-10", "2026-03-31", date(2026, 4, 1))
    assert (account.before, account.after) == (D("133.20"), D("23.20"))
    assert [entry.kind for entry in account.entries] == ["payment"]
    assert [entry.number for entry in account.overdue] == ["A-2"]


def _event(body: ev.Body, job_id: str = "job-1") -> ev.Event:
    return ev.Event("", "g", "2026-03-02T09:00:00+00:00", 1, "d", "", job_id, body)


@given(st.lists(st.tuples(st.sampled_from("ab"), st.integers(1, 900)), max_size=12), st.randoms())
@settings(deadline=None, max_examples=60)
def test_two_currencies_are_never_added_up(drawn: list[tuple[str, int]], pick: random.Random) -> None:
    made = job(dent(1, "roof", 30))
    made.details["customer"] = field("A")
    data = issue(made, "A-1")
    events = []
    for number, (which, amount) in enumerate(drawn):
        currency = {"a": "GBP", "b": "EUR"}[which]
        total = {**data["total"], "low": f"{amount}", "currency": currency}
        events.append(_event(ev.Invoiced(f"N-{number}", {**data, "total": total}), f"job-{number}"))
    pick.shuffle(events)
    accounts = statement(ledger(events), "A", "0001-01-01", "9999-12-31", TODAY)
    for account in accounts:
        which = {"GBP": "a", "EUR": "b"}[account.currency]
        assert account.after == sum(amount for name, amount in drawn if name == which)


@pytest.mark.parametrize("text", ["GBP", "JPY", "KWD"])
def test_amounts_have_the_minor_units_of_their_currency(text: str) -> None:
    """Source: ISO 4217: the yen has no minor unit, the Kuwaiti dinar three decimals."""
    card = read_card(CARD.text.replace('currency = "GBP"', f'currency = "{text}"'))
    made = job(dent(1, "roof", 30))
    charged = to_invoice(made, card)
    assert charged is not None
    data = document(made, charged, "A-1", TODAY, OFFICE)
    (entry,) = ledger([_event(ev.Invoiced("A-1", data))])
    assert entry.to_json()["total"] == {"GBP": "31.20", "JPY": "31", "KWD": "31.200"}[text]
