"""The day as flat records, one list for each table of `columns`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from voicelog.estimate.money import money_text
from voicelog.jobs.records import Dent, Field, Job
from voicelog.journal.events import Heard
from voicelog.meaning.note import Value
from voicelog.papers.content.job_on_paper import Subject, steps_of
from voicelog.papers.content.priced import PricedLine
from voicelog.papers.content.work_record import directions_of
from voicelog.papers.tables.columns import Record
from voicelog.papers.wording import Money
from voicelog.units import format_number


def tables(subjects: Sequence[Subject], heards: Sequence[Heard]) -> dict[str, list[Record]]:
    """The records of every table, by the table's name."""
    return {
        "jobs": [_job(subject) for subject in subjects],
        "dents": [_dent(subject.job, dent) for subject in subjects for dent in subject.dents],
        "lines": [line for subject in subjects for line in _lines(subject)],
        "heard": [_heard(heard) for heard in heards],
    }


def joined(items: Iterable[Any]) -> str:
    """Several values in one field."""
    return "; ".join(str(item) for item in items)


def _job(subject: Subject) -> Record:
    job, priced = subject.job, subject.priced
    money = {
        f"{name}_{bound}": Decimal(money_text(figure, priced.currency))
        for name, figures in (("net", priced.net), ("tax", priced.tax), ("total", priced.total))
        for bound, figure in zip(("low", "high"), figures, strict=True)
    }
    return {
        "job": job.number,
        **{name: _choices(job.details.get(name)) for name in ("plate", "vin", "vehicle", "customer")},
        "state": subject.job.state,
        "opened_at": job.opened_at,
        "finished_at": job.finished_at,
        "worked_min": _minutes(job.timer.worked_s),
        "dents": sum(dent.get("count") or 1 for dent in subject.dents),
        **money,
        **_settled(subject),
        "currency": priced.currency,
        "confirmed": priced.confirmed,
        "checked_from": joined(directions_of(list(steps_of(job)))),
        "told": joined(f"{risk} {at}" for risk, at in job.told),
        "gaps": joined(job.gaps),
    }


def _settled(subject: Subject) -> Record:
    """What was agreed, invoiced and paid."""
    job, currency = subject.job, subject.priced.currency
    due = [one.snapshot["due_on"] for one in job.issued if one.snapshot.get("due_on")]

    def money(amount: Decimal) -> Decimal:
        return Decimal(money_text(amount, currency))

    return {
        "tax_percent": subject.priced.tax_percent,
        "agreed": money(subject.priced.total[0]) if subject.agreed else None,
        "invoices": joined(one.number for one in job.issued),
        "due_on": max(due, default=None),
        "invoiced": money(sum((Decimal(one.snapshot["total"]["low"]) for one in job.issued), Decimal(0))),
        "paid": money(sum((Decimal(str(one.amount)) for one in job.payments), Decimal(0))),
    }


def _choices(field: Field | None) -> str:
    return "" if field is None else " or ".join(map(str, field.choices))


def _minutes(seconds: float) -> Decimal:
    """Minutes to one decimal."""
    return (Decimal(str(seconds)) / 60).quantize(Decimal("0.1"), rounding=ROUND_HALF_UP)


def _dent(job: Job, dent: Dent) -> Record:
    slots = (
        "panel", "end", "side", "material", "length_mm", "width_mm", "count", "shape", "depth", "features",
        "access", "take_off", "method", "belongs_to",
    )  # fmt: skip
    return {
        "job": job.number,
        "dent": dent.number,
        **{slot: _item(dent.get(slot)) for slot in slots},
        "in_doubt": joined(doubts(dent)),
        "paint_um": joined(" or ".join(map(str, reading.um.choices)) for reading in dent.readings),
        "risks": joined(dent.risks),
        "steps": len(dent.steps),
        "worked_min": _minutes(dent.worked_s),
        "opened_at": dent.opened_at,
    }


def _item(value: Value | None) -> Any:
    return joined(value) if isinstance(value, tuple) else value


def doubts(dent: Dent) -> Iterator[str]:
    """Every slot in doubt with all its values: "length_mm: 15 or 50"."""
    for slot in dent.unconfirmed:
        yield f"{slot}: {' or '.join(_plain(choice) for choice in dent.fields[slot].choices)}"


def _plain(value: Value) -> str:
    if isinstance(value, tuple):
        return ", ".join(value) or "none"
    return format_number(value) if isinstance(value, Decimal) else str(value)


def _lines(subject: Subject) -> Iterator[Record]:
    currency = subject.priced.currency
    for number, line in enumerate(subject.priced.lines, start=1):
        low, high = _amounts(line, currency)
        yield {
            "job": subject.job.number,
            "line": number,
            "kind": line.kind,
            "text": line.text,
            "dents": joined(line.dents),
            "minutes_low": line.minutes[0],
            "minutes_high": line.minutes[1],
            "amount_low": low,
            "amount_high": high,
            "currency": currency,
            "counts": line.counts and line.amount is not None,
            "cause": line.cause,
            "reason": line.reason,
            "card_entries": joined(" ".join(filter(None, effect)) for effect in line.effects),
        }


def _amounts(line: PricedLine, currency: str) -> Money | tuple[None, None]:
    if line.amount is None:
        return None, None
    low, high = (Decimal(money_text(figure, currency)) for figure in line.amount)
    return low, high


def recording_name(heard: Heard) -> str:
    """The name of the recording without its folder, which older journals hold."""
    return heard.source.replace("\\", "/").rsplit("/", 1)[-1]


def _heard(heard: Heard) -> Record:
    return {
        "utterance": heard.utterance,
        "source": recording_name(heard),
        "start_s": Decimal(f"{heard.start_s:.2f}"),
        "end_s": Decimal(f"{heard.end_s:.2f}"),
        "words": heard.words,
        "confidence": Decimal(f"{heard.confidence:.3f}"),
        "decision": heard.decision,
        "kind": heard.kind,
        "answer": heard.answer,
        "reason": heard.reason,
    }
