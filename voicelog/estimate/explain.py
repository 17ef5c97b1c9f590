"""How the figures of an estimate came about, in plain sentences.

Everything is read from the estimate itself, so a stored estimate explains itself
without the card that made it.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from voicelog.estimate.estimate import Entry, Estimate, Line, Range, Share, Working
from voicelog.estimate.money import money_text
from voicelog.units import format_number


def explain(estimate: Estimate, dent: int | None = None) -> list[str]:
    """The lines of an estimate explained, one text line each.

    Args:
        estimate: as `price_job` gave it.
        dent: explain only what concerns this dent; None for the whole job.
    """
    lines = estimate.lines if dent is None else list(estimate.of(dent))
    if not lines:
        what = "no dents yet" if dent is None else f"no dent {dent} in this job"
        return [f"{estimate.title}: {what}"]
    texts = [text for line in lines for text in _line(line, estimate.currency)]
    texts += [f"  {item.text()}: {_money(item.difference, estimate.currency)} hang on it"
              for item in estimate.unsettled if dent is None or item.dent == dent]  # fmt: skip
    if dent is None:
        texts += _totals(estimate)
    return texts


def _line(line: Line, currency: str) -> Iterator[str]:
    if line.amount is None:
        yield f"{line.text}: {line.reason}"
        yield from (f"  card: {_entry(entry)}" for entry in line.entries)
        return
    yield f"{line.text}: {_range(line.amount, currency)}"
    if line.kind != "dent" or line.cause == "by-hand":
        yield from (f"  card: {_entry(entry)}" for entry in line.entries)
    elif line.low == line.high and line.low is not None:
        yield from _working(line.low, line, currency)
    else:
        for name, working in (("lowest", line.low), ("highest", line.high)):
            yield f"  in the {name} total:" + ("" if working else " not priced")
            if working is not None:
                yield from (f"  {text}" for text in _working(working, line, currency))


def _entry(entry: Entry) -> str:
    table = f"[{entry.table}] " if entry.table else ""
    effect = "" if entry.effect == entry.value else f": {entry.effect}"
    return f"{table}{entry.key} = {entry.value}{effect}"


def _working(working: Working, line: Line, currency: str) -> Iterator[str]:
    if not working.by_table:
        yield f"  base {_base(working)}"
    yield from (f"  card: {_entry(entry)}" for entry in working.adders)
    if working.adders and not working.by_table:
        yield f"  minutes {_formula(working)}"
    yield from (f"  {_share(share, working.full_minutes, line, currency)}" for share in working.shares)


def _base(working: Working) -> str:
    values = dict(working.values)
    extent = max(Decimal(str(values[slot])) for slot in ("length_mm", "width_mm") if slot in values)
    minutes = f"{format_number(working.base_minutes)} min for {format_number(extent)} mm"
    points = [f"{format_number(mm)} mm = {format_number(value)} min" for mm, value in working.base_points]
    if len(points) == 2:
        return f"{minutes}: on the line between {points[0]} and {points[1]}"
    at_or_below = "at" if working.base_points[0][0] == extent else "below the first point"
    return f"{minutes}: {at_or_below} {points[0]}"


def _formula(working: Working) -> str:
    base, percent = format_number(working.base_minutes), format_number(working.percent)
    text = f"{base} × (1 + {percent} / 100)"
    if working.extra_minutes:
        text += f" + {format_number(working.extra_minutes)}"
    return f"{text} = {format_number(working.full_minutes)} min"


_PLACES = {"": "first on the panel", "second_percent": "second", "further_percent": "further"}


def _share(share: Share, full: Decimal, line: Line, currency: str) -> str:
    if share.entry is not None:
        more = f"adds {format_number(share.minutes)} min, {_money(share.amount, currency)}"
        return f"card: {_entry(share.entry)}; {more} to the panel's sum, which is rounded once"
    each = f"{format_number(full)} min × {format_number(share.percent)} %"
    rate = next(entry.value for entry in line.entries if entry.key == "hourly_rate")
    minutes = format_number(share.minutes)
    money = f"{minutes} min × {rate} / 60 = {_money(share.amount, currency)} rounded once, halves up"
    times = f", {share.dents} times" if share.dents > 1 else ""
    return f"{_PLACES[share.key]}: {each} = {minutes} min; {money}{times}"


def _money(amount: Decimal, currency: str) -> str:
    return f"{money_text(amount, currency)} {currency}"


def _range(amount: Range, currency: str) -> str:
    if amount.settled:
        return _money(amount.low, currency)
    return f"{money_text(amount.low, currency)} to {_money(amount.high, currency)}"


def _totals(estimate: Estimate) -> Iterator[str]:
    sign = "the sum of the lines above" + (", tax included" if estimate.tax_included else "")
    yield f"Net {_range(estimate.net, estimate.currency)}"
    if estimate.tax_name and (estimate.tax.low or estimate.tax.high):
        yield f"{estimate.tax_name} {_range(estimate.tax, estimate.currency)}"
    state = "" if estimate.confirmed else ", not confirmed"
    yield f"Total {_range(estimate.total, estimate.currency)}{state}: {sign}"
