"""Orders of quoting, invoicing, crediting, paying, joining and undoing drawn at random: no money is lost
or counted twice, and the ledger of two devices is the same in whichever order they come together."""

from __future__ import annotations

import shutil
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.actions.conftest import CARD, Talk
from tests.actions.test_joining import BONNET, PLATE, ROOF, Device
from voicelog.actions.invoices import credit_invoice, issue_invoice
from voicelog.actions.jobs_and_quotes import give_quote, settle_quote
from voicelog.actions.payments import note_payment, open_balance
from voicelog.actions.undo import undo
from voicelog.cli.money import entries_of
from voicelog.estimate.ledger import balance
from voicelog.estimate.payers import open_parts
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import in_force
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.journal import events as ev

NOUGHT = Decimal(0)
LINES = (
    ROOF, BONNET, "correct length fifty mil", "discount five percent", "add parts twelve", "remove dent two",
    f"new job {PLATE}", "new job", "go to job one", "join job two to job one",
)  # fmt: skip


def rows(logbook: Logbook) -> list[dict[str, Any]]:
    """The ledger as the bookkeeping gets it."""
    return [entry.to_json() for entry in entries_of(logbook)]


def money_said(logbook: Logbook) -> Decimal:
    """What the events that count say is owed, with nothing of the program's own sums."""
    total = NOUGHT
    for event in logbook.events():
        if not logbook.is_undone(event.group):
            if isinstance(event.body, ev.Invoiced):
                total += Decimal(event.body.snapshot["total"]["low"])
            elif isinstance(event.body, ev.Paid):
                total -= Decimal(event.body.amount)
    return total


def wholes(logbook: Logbook) -> list[Job]:
    """The jobs that are no part of another."""
    jobs = logbook.state.jobs
    return [jobs[key] for key in jobs if jobs[key].joined_to is None]


class Money(RuleBasedStateMachine):
    """Two devices at one car, each with a journal of its own."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.devices = [Device(self.folder, name) for name in ("van", "tablet")]

    @initialize(insured=st.booleans())
    def begin(self, insured: bool) -> None:
        for device in self.devices:
            device.talk.say(f"new job {PLATE}", ROOF)
            if insured:
                device.talk.say("insurer Invented Mutual", "excess twenty")

    def at(self, number: int) -> Talk:
        return self.devices[number].talk

    @rule(at=st.integers(0, 1), line=st.sampled_from(LINES))
    def work(self, at: int, line: str) -> None:
        self.at(at).say(line)

    @rule(at=st.integers(0, 1), accepted=st.sampled_from([True, True, False]))
    def quote(self, at: int, accepted: bool) -> None:
        self.at(at).hand(give_quote)
        self.at(at).hand(lambda context: settle_quote(context, accepted=accepted))

    @rule(at=st.integers(0, 1))
    def invoice(self, at: int) -> None:
        """Documents add up to what was agreed (quote and supplements), else to the price; nothing is left."""
        talk = self.at(at)
        if talk.hand(lambda context: issue_invoice(context, sure=True)).refused:
            return
        job = talk.job
        agreed = [Decimal(q.snapshot["total"]["low"]) for q in in_force(job) if q.accepted]
        owed = sum(agreed, NOUGHT) if agreed else price_job(job, CARD).total.low
        assert sum(Decimal(one.snapshot["total"]["low"]) for one in job.issued) == owed
        assert open_balance(job) == owed - sum(Decimal(payment.amount) for payment in job.payments)
        assert talk.hand(lambda context: issue_invoice(context, sure=True)).refused

    @rule(at=st.integers(0, 1))
    def credit(self, at: int) -> None:
        """An invoice is taken back whole, and once."""
        talk = self.at(at)
        before = money_said(talk.logbook)
        if not talk.hand(credit_invoice).refused:
            note = talk.job.issued[-1]
            (back,) = [one for one in talk.job.issued if one.number == note.of]
            assert before - money_said(talk.logbook) == Decimal(back.snapshot["total"]["low"])
            assert [one.of for one in talk.job.issued if one.snapshot["kind"] == "credit-note"].count(
                note.of
            ) == 1

    @rule(at=st.integers(0, 1), amount=st.sampled_from([None, 5, 20, -5, Decimal("35.68"), 400]),
          payer=st.sampled_from(["", "", "customer", "insurer"]))  # fmt: skip
    def pay(self, at: int, amount: Any, payer: str) -> None:
        talk = self.at(at)
        change = talk.hand(lambda context: note_payment(context, amount, "cash", payer=payer))
        if amount is None and not payer and not change.refused:
            assert open_balance(talk.job) == 0

    @rule(at=st.integers(0, 1))
    def take_back_and_bring_back(self, at: int) -> None:
        talk = self.at(at)
        before = rows(talk.logbook)
        if not talk.hand(undo).refused:
            assert not talk.hand(lambda context: undo(context, redo=True)).refused
        assert rows(talk.logbook) == before

    @rule(at=st.integers(0, 1))
    def take_back(self, at: int) -> None:
        self.at(at).hand(undo)

    @rule(at=st.integers(0, 1))
    def meet(self, at: int) -> None:
        """One device takes in what the other has, twice; the second time brings nothing."""
        log = self.at(at).logbook
        log.merge(self.devices[1 - at].path)
        once = rows(log)
        log.merge(self.devices[1 - at].path)
        assert rows(log) == once

    @rule()
    def join(self) -> None:
        """One car is one job: what is owed stays the same."""
        before = balance(entries_of(self.at(0).logbook))
        self.devices[0].join_all()
        assert balance(entries_of(self.at(0).logbook)) == before

    @invariant()
    def what_is_owed_is_what_was_issued_less_what_came_in(self) -> None:
        for device in self.devices:
            log = device.talk.logbook
            said, entries = money_said(log), entries_of(log)
            assert balance(entries) == said
            assert sum((open_balance(job) for job in wholes(log)), NOUGHT) == said
            assert sum((entry.parts.total for entry in entries), NOUGHT) == said
            insurers = sum((entry.parts.insurer for entry in entries), NOUGHT)
            assert sum((open_parts(job).insurer for job in wholes(log)), NOUGHT) == insurers
            assert len({(e.kind == "payment", e.number) for e in entries}) == len(entries)

    def teardown(self) -> None:
        """The ledger of both is the same in either order."""
        found = []
        for order in (self.devices, self.devices[::-1]):
            merged = Logbook.open(self.folder / f"{order[0].path.stem}-first.db")
            for device in order:
                merged.merge(device.path)
            found.append(rows(merged))
            merged.close()
        for device in self.devices:
            device.talk.logbook.close()
        shutil.rmtree(self.folder)
        assert found[0] == found[1]


TestMoney = Money.TestCase
TestMoney.settings = settings(max_examples=12, stateful_step_count=15, deadline=None)
