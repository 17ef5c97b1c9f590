"""Two invented customers and their cars, as the events of one invented day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from voicelog.estimate.card import default_card
from voicelog.estimate.invoices import Office, document, to_invoice
from voicelog.estimate.pricing.price import price_job
from voicelog.estimate.quotes import snapshot
from voicelog.jobs.fold import fold
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.meaning.note import SlotValue

OFFICE = Office(
    {
        "name": "Sample Dent Works (invented)",
        "address": ["Unit 4, Nowhere Yard", "Sampleton SA1 2BB"],
        "tax_number": "GB 000 0000 00",
        "payment_terms": "By bank transfer to the account on file.\nInvented: do not pay.",
        "bank": ["Sample Dent Works (invented)", "Invented Bank, account 00000000"],
        "warranty": "Five years on the repair (invented).",
    },
    payment_days=14,
)

START = datetime(2026, 3, 2, 8, 30, tzinfo=UTC)
NOW = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)


def slots(**values: Any) -> dict[str, SlotValue]:
    """Slot values; a list is a value in doubt with its alternatives."""
    return {
        name: SlotValue(value[0], str(value[0]), tuple(value[1:]), "sounds alike")
        if isinstance(value, list)
        else SlotValue(value, str(value))
        for name, value in values.items()
    }


class Tape:
    """Events of an invented day, a minute apart."""

    def __init__(self, start: datetime = START) -> None:
        self.events: list[ev.Event] = []
        self.at = start
        self._job: str | None = None

    def add(self, body: ev.Body, minutes: float = 1.0) -> Tape:
        """One more event of the current job."""
        number = len(self.events) + 1
        if isinstance(body, ev.JobOpened):
            self._job = f"job-{body.number}"
        self.at += timedelta(minutes=minutes)
        self.events.append(
            ev.Event(
                id=f"e{number:04}",
                group=f"g{number}",
                at=self.at.isoformat(timespec="milliseconds"),
                order=number,
                device="test",
                version="0",
                job=self._job,
                body=body,
                derived={"utterance": number},
            )
        )
        return self

    def job(self, number: int, **details: Any) -> Tape:
        """A new job and what is known of it."""
        return self.add(ev.JobOpened(number)).add(ev.JobDescribed(slots(**details), by="hand"))

    def dent(self, number: int, **values: Any) -> Tape:
        """A new dent."""
        return self.add(ev.DentOpened(number)).add(ev.Noted(number, slots(**values)))

    def quote(self, version: int) -> Tape:
        """A quote of the job as it stands."""
        job, card = self.state().jobs[str(self._job)], default_card("GB")
        return self.add(ev.Quoted(version, snapshot(job, price_job(job, card), card)))

    def invoice(self, number: str) -> Tape:
        """The invoice of what is to be charged."""
        job = self.state().jobs[str(self._job)]
        charged = to_invoice(job, default_card("GB"))
        assert charged is not None
        return self.add(ev.Invoiced(number, document(job, charged, number, self.at.date(), OFFICE)))

    def state(self) -> State:
        """What the events add up to."""
        return fold(self.events)


def finished_job(tape: Tape) -> Tape:
    """A settled, finished job with three dents, one of which cannot be priced."""
    tape.job(
        1, plate="VL26DNT", customer="Ada Example", address="1 Invented Lane\nSampleton SA1 1AA",
        vehicle="small hatchback, blue",
    )  # fmt: skip
    tape.add(ev.Timed("start"))
    tape.dent(1, panel="door", end="rear", side="right", material="steel", length_mm=45, width_mm=30,
              depth="shallow", shape="round", access="trim-off", take_off=("door-card",),
              method="push")  # fmt: skip
    tape.add(ev.Measured("dent", SlotValue(142), dent=1, slots=slots(probe="magnetic")))
    tape.add(ev.Measured("reference", SlotValue(138), slots=slots(panel="roof")))
    tape.add(ev.RiskNoted(("crease-may-show",), dent=1)).add(ev.Told(("crease-may-show",)))
    tape.dent(2, panel="wing", side="left", material="aluminium", length_mm=80, shape="crease",
              depth="medium", features=("body-line",), access="limited", method="glue-pull")  # fmt: skip
    tape.add(ev.Corrected(2, slots(length_mm=75)))
    tape.dent(3, panel="bumper", end="front", material="plastic", length_mm=30)
    tape.dent(4, panel="roof", length_mm=20).add(ev.DentRemoved(4))
    tape.add(ev.DentSelected(1))
    tape.quote(1).add(ev.QuoteSettled(1, True))
    tape.add(ev.Stepped(slots(step="warm"), dent=1)).add(ev.Stepped(slots(step="push"), dent=1), 22)
    tape.add(ev.PhotoMarked(1, 1))
    tape.add(ev.Stepped(slots(step="pull", pulls=3, tab_mm=20, tab="crease"), dent=2), 31)
    tape.add(ev.Stepped(slots(step="check-lines", direction=("front", "left")), dent=2))
    tape.add(ev.Cautioned("solvent-near-heat")).add(ev.Understood("solvent-near-heat"))
    tape.add(ev.PhotoMarked(2, 2)).add(ev.Timed("stop"))
    return tape.add(ev.Finished(("reference_um",))).invoice("INV-2026-TEST-0001")


def open_job(tape: Tape, number: int = 2) -> Tape:
    """A job with two values in doubt, many small dents, and one dent without a size."""
    tape.job(number, plate="AB12CDE")
    tape.add(ev.Timed("start"))
    tape.dent(1, panel="roof", material="steel", count=[22, 32], length_mm=[15, 50], depth="shallow")
    tape.dent(2, panel="bonnet", material="steel", depth="deep", shape="sharp")
    tape.dent(3, panel="fuel-flap", material="steel", length_mm=12)
    return tape.add(ev.RiskNoted(("high-spots", "texture"), dent=1))


HEARDS = (
    ev.Heard(1, "day.wav", 1.2, 4.92, "rear right door steel forty five mil", 0.97, "accepted", "damage",
             slots(panel="door", length_mm=45), answer="rear right door, steel, four five"),
    ev.Heard(2, "day.wav", 7.0, 8.5, "roof fifteen mil", 0.62, "asked", "damage", slots(length_mm=[15, 50]),
             question="length: fifteen, one five; or fifty, five zero?", answer="one five or five zero?",
             reason="length: sounds alike"),
    ev.Heard(3, "day.wav", 9.0, 9.6, "", 0.12, "rejected", "none", reason="no words of ours"),
)  # fmt: skip
