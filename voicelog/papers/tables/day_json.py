"""The day log as JSON, by the schema in `day-log.schema.json`.

Amounts are strings with the currency's decimals, as in `voicelog price --json`;
lengths are millimetres, thicknesses micrometres, times ISO 8601 with offset.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

from voicelog.estimate.money import money_text
from voicelog.jobs.records import Dent, Field, Issued, Question, Quote, Reading, Step
from voicelog.journal.events import Heard
from voicelog.meaning.note import plain
from voicelog.papers.content.day_log import sum_of
from voicelog.papers.content.job_on_paper import Subject, steps_of
from voicelog.papers.content.work_record import directions_of
from voicelog.papers.letterhead import Letterhead
from voicelog.papers.tables.records import recording_name

FORMAT_VERSION = 1
"""Raised when a reader of the version before would go wrong."""


def schema() -> dict[str, Any]:
    """The JSON Schema (Draft 2020-12) of the day log."""
    text = (files("voicelog.papers.tables") / "day-log.schema.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found


def day_json(
    subjects: Sequence[Subject], letterhead: Letterhead, heards: Sequence[Heard], days: tuple[str, str]
) -> bytes:
    """The day, or days from the first to the last, as UTF-8 JSON; the same journal gives the same bytes."""
    first, last = days
    data = {
        "format": "voicelog day log",
        "version": FORMAT_VERSION,
        "from": first,
        "to": last,
        "workshop": _workshop(letterhead),
        "jobs": [_job(subject) for subject in subjects],
        "totals": [
            {
                "low": money_text(figures[0], currency),
                "high": money_text(figures[1], currency),
                "currency": currency,
                "confirmed": settled,
            }
            for currency, (figures, settled) in sum_of(subjects).items()
        ],
        "heard": [_heard(heard) for heard in heards],
    }
    return (json.dumps(data, ensure_ascii=False, indent=2) + "\n").encode("utf-8", "replace")


def _workshop(letterhead: Letterhead) -> dict[str, Any]:
    return {
        "name": letterhead.name,
        "address": list(letterhead.address),
        "phone": letterhead.phone,
        "email": letterhead.email,
        "tax_number": letterhead.tax_number,
    }


def _job(subject: Subject) -> dict[str, Any]:
    job = subject.job
    return {
        "id": job.id,
        "number": job.number,
        "title": job.title,
        "state": subject.job.state,
        "opened_at": job.opened_at,
        "finished_at": job.finished_at,
        "worked_s": round(job.timer.worked_s, 3),
        "details": {name: _field(field) for name, field in job.details.items()},
        "dents": [_dent(dent) for dent in subject.dents],
        "references": [_reading(reading) for reading in job.references],
        "steps": [_step(step) for step in job.steps],
        "checked_from": list(directions_of(list(steps_of(job)))),
        "risks": list(job.risks),
        "told": [{"risk": risk, "at": at} for risk, at in job.told],
        "questions": [_question(question) for question in job.questions.values()],
        "photos": [{"number": number, "dent": dent, "at": at} for number, dent, at in job.photos],
        "memos": [{"dent": dent, "words": words, "at": at} for dent, words, at in job.memos],
        "cautions": dict(job.cautions),
        "quotes": [_quote(quote) for quote in job.quotes],
        "gaps": list(job.gaps),
        "estimate": dict(subject.estimate),
        "agreed": _agreed(subject),
        "invoices": [_issued(one) for one in job.issued],
    }


def _field(field: Field) -> dict[str, Any]:
    return {"value": plain(field.value), "alternatives": [plain(value) for value in field.choices[1:]]}


def _dent(dent: Dent) -> dict[str, Any]:
    return {
        "number": dent.number,
        "slots": dent.values(),
        "unconfirmed": {slot: [plain(v) for v in dent.fields[slot].choices] for slot in dent.unconfirmed},
        "readings": [_reading(reading) for reading in dent.readings],
        "steps": [_step(step) for step in dent.steps],
        "risks": list(dent.risks),
        "worked_s": round(dent.worked_s, 3),
        "opened_at": dent.opened_at,
    }


def _reading(reading: Reading) -> dict[str, Any]:
    place = {"panel": reading.panel, "end": reading.end, "side": reading.side}
    return {"um": _field(reading.um), "probe": reading.probe, **place, "at": reading.at}


def _step(step: Step) -> dict[str, Any]:
    return {
        "step": step.step,
        "details": {name: plain(value) for name, value in step.details.items()},
        "at": step.at,
    }


def _question(question: Question) -> dict[str, Any]:
    return {
        "slot": question.slot,
        "choices": [plain(choice) for choice in question.choices],
        "text": question.text,
        "dent": question.dent,
        "asked_at": question.asked_at,
    }


def _quote(quote: Quote) -> dict[str, Any]:
    return {
        "version": quote.version,
        "at": quote.at,
        "total": quote.snapshot.get("total"),
        "supplement_to": quote.supplement_to,
        "accepted": quote.accepted,
    }


def _agreed(subject: Subject) -> dict[str, Any] | None:
    """The total of the accepted quote with its supplements."""
    if not subject.agreed:
        return None
    priced = subject.priced
    low, high = (money_text(figure, priced.currency) for figure in priced.total)
    return {"low": low, "high": high, "currency": priced.currency, "confirmed": priced.confirmed}


def _issued(one: Issued) -> dict[str, Any]:
    data = one.snapshot
    return {
        "number": one.number,
        "kind": data["kind"],
        "issued_on": data["issued_on"],
        "due_on": data["due_on"],
        "of": one.of,
        "total": data["total"],
    }


def _heard(heard: Heard) -> dict[str, Any]:
    return {
        "utterance": heard.utterance,
        "source": recording_name(heard),
        "start_s": round(heard.start_s, 3),
        "end_s": round(heard.end_s, 3),
        "words": heard.words,
        "confidence": round(heard.confidence, 4),
        "decision": heard.decision,
        "kind": heard.kind,
        "slots": {name: plain(slot.value) for name, slot in heard.slots.items()},
        "question": heard.question,
        "answer": heard.answer,
        "reason": heard.reason,
    }
