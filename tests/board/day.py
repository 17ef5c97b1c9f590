"""An invented day at an invented workshop, written as events by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from voicelog.jobs.records import Job
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import SlotValue
from voicelog.vocabulary import Decision, Kind

from .bench_clock import BenchLog


def held(value: Any, *others: Any, doubt: str = "") -> SlotValue:
    """A slot value, in doubt where there are others."""
    return SlotValue(value, words=str(value), alternatives=others, doubt=doubt)


def heard(
    log: BenchLog, words: str, kind: Kind = "damage", decision: Decision = "accepted", **more: Any
) -> ev.Heard:
    """The first event of an utterance; every seventh has a clip less than sure."""
    number = log.state.utterances + 1
    base: dict[str, Any] = {"confidence": 0.97 if number % 7 else 0.62, "answer": words, "engine": "bench"}
    return ev.Heard(number, "day.wav", number * 8.0, number * 8.0 + 3, words, **{**base, **more},
                    decision=decision, kind=kind)  # fmt: skip


def say(log: BenchLog, words: str, *bodies: ev.Body, kind: Kind = "damage", **more: Any) -> ev.Heard:
    """One utterance and what it did to the current job."""
    first = heard(log, words, kind, **more)
    job, derived = log.state.current, {"utterance": first.utterance}
    log.commit([Draft(body, job, derived) for body in (first, *bodies)])
    return first


def dent(log: BenchLog, number: int, slots: Mapping[str, SlotValue], words: str, **more: Any) -> None:
    """A new dent in one utterance."""
    say(log, words, ev.DentOpened(number), ev.Noted(number, slots), slots=slots, **more)


def new_job(log: BenchLog, number: int, plate: str) -> None:
    """A new job with its plate."""
    words = f"new job plate {' '.join(plate).lower()}"
    log.commit([Draft(heard(log, words, "job")), Draft(ev.JobOpened(number))])
    # A job's first event gives it its id; what belongs to it comes after.
    log.commit([Draft(ev.JobDescribed({"plate": held(plate)}), log.state.current)])


def first_job(log: BenchLog) -> None:
    """A bonnet and a door, all settled, quoted and finished."""
    new_job(log, 1, "XX21ABC")
    say(log, "start work", ev.Timed("start"), kind="time")
    dent(log, 1, {
        "panel": held("bonnet"), "material": held("aluminium"), "length_mm": held(30),
        "depth": held("shallow"), "shape": held("round"), "access": held("open"), "method": held("push"),
    }, "bonnet aluminium thirty mil round shallow open access push")  # fmt: skip
    say(log, "paint one two four reference one two zero", ev.Measured("dent", held(124), 1),
        ev.Measured("reference", held(120)), kind="reading")  # fmt: skip
    say(log, "pull three", ev.Stepped({"step": held("pull"), "pulls": held(3)}, 1), kind="step")
    dent(log, 2, {
        "panel": held("door"), "end": held("front"), "side": held("left"), "material": held("steel"),
        "length_mm": held(45), "width_mm": held(12), "shape": held("crease"), "depth": held("medium"),
        "features": held(("body-line",)), "access": held("trim-off"), "take_off": held(("door-card",)),
        "method": held("lever"),
    }, "front left door steel forty five by twelve mil crease medium body line door card off")  # fmt: skip
    say(log, "crease may show", ev.RiskNoted(("crease-may-show",), 2, "crease may show"), kind="told")
    say(log, "customer told", ev.Told(("crease-may-show",)), kind="told")
    say(log, "stop work", ev.Timed("stop"), kind="time")
    say(log, "job finished", ev.Finished(), kind="job")


def second_job(log: BenchLog) -> None:
    """Hail on a roof, a doubtful length, a rejected shout, a dent that is still open."""
    new_job(log, 2, "XX70DNT")
    say(log, "start work", ev.Timed("start"), kind="time")
    dent(log, 1, {
        "panel": held("roof"), "material": held("steel"), "count": held(22), "length_mm": held(20),
        "depth": held("shallow"), "shape": held("round"), "access": held("limited"),
        "method": held("glue-pull"),
    }, "roof steel twenty two dents twenty mil round shallow limited access glue pull")  # fmt: skip
    doubtful = held(50, 15, doubt="fifteen and fifty sound alike")
    dent(log, 2, {
        "panel": held("wing"), "side": held("right"), "material": held("steel"), "length_mm": doubtful,
        "depth": held("deep"), "shape": held("sharp"), "features": held(("edge",)),
    }, "right wing steel fifty mil deep sharp on the edge", decision="asked", confidence=0.58,
        question="length: fifty, five zero; or fifteen, one five?",
        answer="length: fifty, five zero; or fifteen?",
        alternatives=({"words": "right wing steel fifteen mil deep sharp on the edge", "confidence": 0.39},),
        clip="c0ffee")  # fmt: skip
    say(log, "the kettle is on if you want one", kind="none", decision="rejected", confidence=0.21,
        reason="not speech to the log", answer="")  # fmt: skip
    dent(log, 3, {
        "panel": held("door"), "end": held("rear"), "side": held("right"), "material": held("steel"),
        "length_mm": held(45), "width_mm": held(30),
    }, "rear right door steel forty five by thirty mil")  # fmt: skip
    say(log, "shallow open access", ev.Noted(3, {"depth": held("shallow"), "access": held("open")}))


def ask(log: BenchLog) -> None:
    """Leave the length of dent 2 of the second job as an open question."""
    text = "length: fifty, five zero; or fifteen, one five?"
    log.commit(
        [Draft(ev.Asked("q1", "length_mm", (50, 15), text, 2, "sounds like fifteen"), log.state.current)]
    )


def whole_day(*, asking: bool = False) -> BenchLog:
    """Both jobs; with the question open where asked for."""
    log = BenchLog()
    first_job(log)
    second_job(log)
    if asking:
        ask(log)
    return log


def bare_job() -> BenchLog:
    """A job in which nothing was said yet."""
    log = BenchLog()
    new_job(log, 1, "XX21ABC")
    return log


def bare_dent() -> BenchLog:
    """A dent that lacks side, size and the rest."""
    log = whole_day()
    dent(log, 4, {"panel": held("door"), "end": held("front")}, "front door")
    return log


def doubtful_dent() -> BenchLog:
    """The dent with a doubtful length is the open one."""
    log = whole_day()
    log.commit([Draft(ev.DentSelected(2), log.state.current)])
    return log


def asking_note() -> BenchLog:
    """A question about a whole note is open."""
    log = whole_day()
    words = ("left wing shallow push", "left wing shallow")
    log.commit([Draft(ev.Asked("q7", "note", words, "with push; or without?"), log.state.current)])
    return log


def warned() -> BenchLog:
    """A caution waits."""
    log = whole_day()
    log.commit([Draft(ev.Cautioned("solvent-near-heat"), log.state.current)])
    return log


def finished_job() -> BenchLog:
    """The first job alone, finished."""
    log = BenchLog()
    first_job(log)
    return log


def invoiced_job(paid: str | None = None) -> BenchLog:
    """A job with an invoice over £184, paid so far."""
    log = finished_job()
    total = {"low": "184.00", "high": "184.00", "currency": "GBP"}
    log.commit([Draft(ev.Invoiced("2025-001", {"kind": "invoice", "total": total}, None), log.state.current)])
    if paid is not None:
        log.commit([Draft(ev.Paid(Decimal(paid), "GBP", "card", "2025-03-04"), log.state.current)])
    return log


def jobs(log: BenchLog) -> Sequence[Job]:
    """The jobs in order."""
    return list(log.state.jobs.values())
