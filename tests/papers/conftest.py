"""An invented workshop, here and across the sea, and its invented day."""

from __future__ import annotations

import pytest
from invented_day import Tape, finished_job, open_job

from voicelog.estimate.card import default_card
from voicelog.estimate.card.model import Card
from voicelog.jobs.records import State
from voicelog.papers import Letterhead


@pytest.fixture(scope="session")
def card() -> Card:
    """The card to start from, with British figures."""
    return default_card("GB")


@pytest.fixture(scope="session")
def day() -> State:
    """Two jobs of one day."""
    return open_job(finished_job(Tape())).state()


@pytest.fixture(scope="session")
def letterhead() -> Letterhead:
    """An invented workshop."""
    return Letterhead(
        name="Sample Dent Works (invented)",
        address=("Unit 4, Nowhere Yard", "Sampleton SA1 2BB"),
        phone="01632 960123",
        email="desk@dentworks.example",
        tax_number="GB 000 0000 00",
        tax_name="VAT",
        timezone="Europe/London",
        payment_days=14,
        payment_terms="By bank transfer to the account on file.\nInvented: do not pay.",
    )


@pytest.fixture(scope="session")
def american() -> Letterhead:
    """The same workshop across the sea."""
    return Letterhead(
        name="Sample Dent Works (invented)",
        address=("12 Nowhere Road", "Sample Springs, ZZ 00000"),
        phone="(555) 010-0123",
        paper="Letter",
        locale="en_US",
        units="inch",
        tax_name="Sales tax",
        timezone="America/Chicago",
    )
