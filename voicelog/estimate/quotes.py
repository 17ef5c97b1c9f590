"""Quotes: what was promised, frozen, and what came on top of it later.

A quote is the JSON of an estimate with the card and the warnings that went with it.
Nothing here ever works a given quote out again: a changed card, a corrected dent or a
new version of the program leaves it as it was.  What is added later is a supplement,
priced by the card of the quote, so that a dearer card does not reach back either.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.estimate.card import read_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import ZERO, Entry, Estimate, Line, Range, Unsettled
from voicelog.estimate.explain import explain
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Job, Quote
from voicelog.meaning.note import plain

FORMAT = 1
"""Version of the snapshot's layout."""

Key = Hashable


def snapshot(job: Job, estimate: Estimate, card: Card) -> dict[str, Any]:
    """What a `Quoted` event stores: the estimate's JSON and, beside it, all it rests on.

    Money and minutes are strings.  Beyond `Estimate.to_json`: `format`, `card_text`, `told` (risk and
    time), `risks` noted, `discount_percent` asked for, `explained` (texts).
    """
    return {
        **estimate.to_json(),
        "format": FORMAT,
        "card_text": card.of_customer(job.get("customer")).text,
        "agreement": card.of_customer(job.get("customer")).terms.agreement,
        "told": [{"risk": risk, "at": at} for risk, at in job.told],
        "risks": job.every_risk,
        "discount_percent": plain(job.discount_percent),
        "explained": explain(estimate),
    }


def in_force(job: Job) -> list[Quote]:
    """The quote that holds and its supplements: the last accepted one, else the last not declined."""
    roots = [quote for quote in job.quotes if quote.supplement_to is None and quote.accepted is not False]
    if not roots:
        return []
    accepted = [quote for quote in roots if quote.accepted]
    root = (accepted or roots)[-1]
    return [
        root,
        *(q for q in job.quotes if q.supplement_to == root.version and q.accepted is not False),
    ]


def open_points(estimate: Estimate) -> list[str]:
    """Why an estimate is no firm price yet; empty where a quote of it can be accepted, or invoiced."""
    points = [item.text() for item in estimate.unsettled if item.difference]
    if not points and not (estimate.confirmed and estimate.total.settled):
        points.append("values in doubt")
    if not _agreed_as_a_whole(estimate):
        without = {line.dents: line for line in estimate.refusals if line.cause in _TO_BE_PRICED}
        points += [f"{line.text.partition(':')[0].lower()} has no price" for line in without.values()]
    if estimate.total.high <= 0:
        points.append("nothing is priced")
    return points


_TO_BE_PRICED = ("beyond-table", "missing")
"""Refusals of dents that are to be done for a price; others are not part of the offer."""


def _agreed_as_a_whole(estimate: Estimate) -> bool:
    return any(line.kind == "agreed" for line in estimate.lines)


def agreed(job: Job) -> Estimate | None:
    """The accepted quote with its accepted supplements as one; None where none was accepted."""
    quotes = [quote for quote in in_force(job) if quote.accepted]
    return joined([quote.snapshot for quote in quotes]) if quotes else None


def joined(snapshots: Sequence[Mapping[str, Any]]) -> Estimate:
    """Stored estimates of one job added up, line by line."""
    first = snapshots[0]

    def total(name: str) -> Range:
        return sum((_range(data[name]) for data in snapshots), Range(ZERO, ZERO))

    return Estimate(
        job=first["job"],
        number=first["number"],
        title=first["title"],
        currency=first["total"]["currency"],
        card=first["card"],
        damages=tuple((item["number"], item["slots"]) for item in snapshots[-1]["damages"]),
        lines=tuple(_quoted_lines(snapshots).values()),
        net=total("net"),
        tax=total("tax"),
        total=total("total"),
        minutes=total("minutes"),
        confirmed=all(data["total"]["confirmed"] for data in snapshots),
        unsettled=tuple(_stored_doubt(item) for data in snapshots for item in data.get("unsettled", ())),
        tax_name=first["tax"]["name"],
        tax_included=first["tax"]["included"],
    )


def _stored_doubt(data: Mapping[str, Any]) -> Unsettled:
    return Unsettled(data["dent"], data["slot"], tuple(data["choices"]), Decimal(data["difference"]))


def card_of(quoted: Mapping[str, Any]) -> Card:
    """The card a snapshot was priced with.

    Raises:
        VoicelogError: the stored card cannot be read by this version.
    """
    try:
        return read_card(str(quoted.get("card_text", "")))
    except VoicelogError as error:
        what = f"the card stored with the quote cannot be used: {error.what}"
        raise VoicelogError(what, todo="give a new quote") from error


def supplement(job: Job) -> Estimate | None:
    """What the job costs beyond its quote in force; None where nothing was quoted or nothing changed.

    Its lines are differences: parts and dents that were added, shares that moved because of them
    (below nought where a quoted dent became cheaper or was removed).  They add up to its total,
    and quote and supplement together to the price of the job as it stands, by the quote's card.

    Raises:
        VoicelogError: see `card_of`.
    """
    quotes = in_force(job)
    if not quotes:
        return None
    estimate = price_job(job, card_of(quotes[0].snapshot))
    return difference([quote.snapshot for quote in quotes], estimate)


def difference(quoted: Sequence[Mapping[str, Any]], estimate: Estimate) -> Estimate | None:
    """An estimate less what was quoted; None where nothing is left."""
    before = {key: line for key, line in _quoted_lines(quoted).items() if not _taken_back_already(line)}
    lines: list[Line] = []
    for line in estimate.lines:
        old = before.pop(line_key(line), None)
        if line.amount is None or old is None:
            if old is None or old.amount != line.amount:
                lines.append(line)
            continue
        assert old.amount is not None
        amount, minutes = line.amount - old.amount, line.minutes - old.minutes
        if amount.low or amount.high:
            reason = _moved(old.amount, line.amount)
            lines.append(replace(line, amount=amount, minutes=minutes, reason=reason, low=None, high=None))
    gone = [line for line in before.values() if line.amount is not None]
    lines += [_taken_back(line) for line in gone]
    if not any(line.amount is not None or line.kind == "refusal" for line in lines):
        return None
    return _as_estimate(estimate, lines, quoted)


def _taken_back_already(line: Line) -> bool:
    return line.amount is not None and not (line.amount.low or line.amount.high)


def line_key(line: Line) -> Key:
    """What makes a line the same line in two estimates of a job."""
    if line.kind == "take-off":
        return (line.kind, line.place, *(entry.key for entry in line.entries[:1]))
    if line.kind in ("cap", "set-up", "protection"):
        return (line.kind, line.place)
    if line.kind == "extra":
        return (line.kind, line.text)
    if line.amount is None:
        return (line.kind, line.dents, line.cause)
    return (line.kind, line.dents)


def _quoted_lines(quoted: Sequence[Mapping[str, Any]]) -> dict[Key, Line]:
    """The lines of a quote and its supplements, those of the same kind and dents as one."""
    found: dict[Key, Line] = {}
    for data in quoted:
        for line in map(_stored_line, data["lines"]):
            key = line_key(line)
            old = found.get(key)
            if old is None or old.amount is None or line.amount is None:
                found[key] = line
            else:
                found[key] = replace(old, amount=old.amount + line.amount, minutes=old.minutes + line.minutes)
    return found


def _stored_line(data: Mapping[str, Any]) -> Line:
    place = data["place"]
    return Line(
        kind=data["kind"],
        text=data["text"],
        dents=tuple(data["dents"]),
        place=None if place is None else (place["panel"], place["end"], place["side"]),
        minutes=_range(data["minutes"]),
        amount=None if data["amount"] is None else _range(data["amount"]),
        counts=data["counts"],
        entries=tuple(Entry(**entry) for entry in data["entries"]),
        cause=data["cause"] or "",
        reason=data["reason"] or "",
    )


def _range(data: Mapping[str, str]) -> Range:
    return Range(Decimal(data["low"]), Decimal(data["high"]))


def _moved(old: Range, new: Range) -> str:
    def text(amount: Range) -> str:
        return f"{amount.low}" if amount.settled else f"{amount.low} to {amount.high}"

    return f"was quoted at {text(old)}, is now {text(new)}"


def _taken_back(line: Line) -> Line:
    assert line.amount is not None
    nothing = Range(ZERO, ZERO)
    reason = "was quoted and is no longer part of the job"
    return replace(line, amount=nothing - line.amount, minutes=nothing - line.minutes, reason=reason)


def _as_estimate(estimate: Estimate, lines: Sequence[Line], quoted: Sequence[Mapping[str, Any]]) -> Estimate:
    def less(now: Range, name: str) -> Range:
        for data in quoted:
            now = now - _range(data[name])
        return now

    return replace(
        estimate,
        lines=tuple(lines),
        net=less(estimate.net, "net"),
        tax=less(estimate.tax, "tax"),
        total=less(estimate.total, "total"),
        minutes=less(estimate.minutes, "minutes"),
        confirmed=estimate.confirmed and all(data["total"]["confirmed"] for data in quoted),
    )
