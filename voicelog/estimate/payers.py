"""Who pays what of a job with an insurer: the customer the excess, the insurer the rest.

The excess is borne once a job, whatever number of invoices it takes: the customer's part of all that
was issued so far is the excess, or all of it where it is less, and each document has what it adds to
that.  So a later invoice is the insurer's, and a credit note gives each his own part back.  Without an
insurer, or with an excess that is not known, all is the customer's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal

from voicelog.jobs.records import Job

NOUGHT = Decimal(0)

Payer = Literal["customer", "insurer"]
PAYERS: tuple[Payer, ...] = ("customer", "insurer")


@dataclass(frozen=True)
class Parts:
    """An amount by who pays it; both with tax."""

    customer: Decimal = NOUGHT
    insurer: Decimal = NOUGHT

    def __add__(self, other: Parts) -> Parts:
        return Parts(self.customer + other.customer, self.insurer + other.insurer)

    def __sub__(self, other: Parts) -> Parts:
        return Parts(self.customer - other.customer, self.insurer - other.insurer)

    @property
    def total(self) -> Decimal:
        """The whole amount."""
        return self.customer + self.insurer

    def of(self, payer: Payer) -> Decimal:
        """The part of one payer."""
        return self.insurer if payer == "insurer" else self.customer


NOTHING = Parts()


def divided(total: Decimal, named: Mapping[str, Any]) -> Parts:
    """All that a job comes to so far, by payer; `named` may hold `insurer` and `excess`."""
    if not named.get("insurer") or named.get("excess") is None:
        return Parts(total)
    own = min(Decimal(str(named["excess"])), max(total, NOUGHT))
    return Parts(own, total - own)


def parts_of(documents: Iterable[tuple[Decimal, Mapping[str, Any]]]) -> Iterator[Parts]:
    """The parts of a job's documents (total, details) in their order."""
    before = NOTHING
    for total, named in documents:
        after = divided(before.total + total, named)
        yield after - before
        before = after


def parts_paid(owed: Parts, payments: Iterable[tuple[Decimal, str]]) -> Iterator[Parts]:
    """Whose money each payment (amount, payer) is, given what each owes of the whole job.

    Where nobody was named it is the insurer's if it is just what the insurer still owes, else the
    customer's up to the customer's part, and what is more the insurer's, where there is one.
    """
    for amount, payer in payments:
        if payer == "insurer" or (not payer and amount == owed.insurer > 0):
            part = Parts(insurer=amount)
        elif payer == "customer" or owed.insurer <= 0:
            part = Parts(amount)
        else:
            own = min(amount, max(owed.customer, NOUGHT))
            part = Parts(own, amount - own)
        owed -= part
        yield part


def open_parts(job: Job) -> Parts:
    """What each still owes of what was invoiced and credited; below nought where too much was paid."""
    snapshots = [one.snapshot for one in job.issued if "low" in one.snapshot["total"]]
    documents = [(Decimal(one["total"]["low"]), one.get("references", {})) for one in snapshots]
    paid = [(Decimal(p.amount), p.payer) for p in job.payments if isinstance(p.amount, int | Decimal)]
    owed = sum(parts_of(documents), NOTHING)
    return owed - sum(parts_paid(owed, paid), NOTHING)
