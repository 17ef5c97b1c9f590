"""Whether an event from elsewhere holds what its kind may hold.

A right hash only says that an event is as it was written.  What is taken into a journal must
also be of the right types and in sensible ranges, or it would break what is made of it later.
"""

from __future__ import annotations

import json
import math
import re
import uuid
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Any, Final

from pydantic import TypeAdapter, ValidationError

from voicelog.errors import VoicelogError
from voicelog.journal import events as ev
from voicelog.journal.personal import join
from voicelog.journal.rows import Row
from voicelog.meaning.note import SlotValue
from voicelog.visible import CONTROL
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS, LISTS, NUMBERS

_MOST: Final = 10**9
"""No number of a record is larger."""
_WHOLE: Final = 2**53
_LONGEST: Final = 200_000
"""Characters of a text at most; the longest is the text of a rate card in a quote."""
_DEEPEST: Final = 12
_LAST_YEAR: Final = 2200
"""Ids of a later time leave none that could follow them."""
_NAME: Final = re.compile(r"[\w.:-]{1,100}")
"""Devices, groups and jobs: the views join these names by spaces."""
_CLIP: Final = re.compile(r"[0-9a-f]{64}")
_CLOSED: Final = frozenset(DAMAGE_SLOTS) | {"step", "tab", "direction", "probe"}
"""Slots of the record whose values come from a closed set, where they have one."""


def unfit(row: Row) -> str | None:
    """Why an event cannot be taken in, a clause; None where it can."""
    try:
        return next(_troubles(row), None)
    except VoicelogError as error:
        return error.what
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        return f"{'.'.join(map(str, first['loc']))}: {first['msg']}"
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        return f"it cannot be read ({error})"


def _troubles(row: Row) -> Iterator[str]:
    yield from _envelope(row)
    apart = None if row.data is None else json.loads(row.data)
    whole = join(row.type, json.loads(row.body), apart)
    yield from _measured(whole, 0)
    yield from _measured(json.loads(row.derived), 0)
    body = row.event.body  # as this version reads it, whatever version wrote it
    _shape(body.TYPE).validate_json(json.dumps(body.to_json()), strict=True)
    yield from _fields(body)
    if not isinstance(body, ev.Heard):
        for name, slot in getattr(body, "slots", {}).items():
            yield from _slot(name, slot)


def _envelope(row: Row) -> Iterator[str]:
    identity = uuid.UUID(row.id)
    if str(identity) != row.id or identity.version != 7 or identity.variant != uuid.RFC_4122:
        yield f"the id {row.id} is none of ours"
    if datetime.fromtimestamp((identity.int >> 80) / 1000).year >= _LAST_YEAR:
        yield f"the id {row.id} leaves none to follow it"
    if not 0 < row.ord < _WHOLE:
        yield f"the order {row.ord}"
    for name in (row.grp, row.device, row.version, *([] if row.job is None else [row.job])):
        if not _NAME.fullmatch(name):
            yield f"the name {name[:40]!r}"
    if not isinstance(json.loads(row.derived).get("utterance", 0), int):
        yield "the number of the utterance it is derived from"
    if not 1970 <= datetime.fromisoformat(row.at).year < _LAST_YEAR:
        yield f"the time {row.at}"


def _measured(value: Any, depth: int) -> Iterator[str]:
    """Numbers, texts and depth within bounds, at any place."""
    if depth > _DEEPEST:
        yield "it is nested too deeply"
    elif isinstance(value, dict):
        yield from (trouble for item in value.values() for trouble in _measured(item, depth + 1))
    elif isinstance(value, list):
        yield from (trouble for item in value for trouble in _measured(item, depth + 1))
    elif isinstance(value, str) and len(value) > _LONGEST:
        yield "a text is too long"
    elif isinstance(value, str) and CONTROL.search(value):
        yield "a text holds control characters, which would reach a terminal"
    elif isinstance(value, int | float) and (not math.isfinite(value) or abs(value) > _WHOLE):
        yield f"the number {str(value)[:40]}"


@cache
def _shape(kind: str) -> TypeAdapter[Any]:
    return TypeAdapter(ev.BODIES[kind])


def _fields(body: ev.Body) -> Iterator[str]:
    for name in ("dent", "copied_from", "number", "utterance"):
        value = getattr(body, name, None)
        if isinstance(value, int) and not 0 <= value <= 10**6:
            yield f"{name} {value}"
    match body:
        case ev.Measured(um=um) | ev.Remeasured(um=um):
            yield from _slot("paint_um", um)
        case ev.Discounted(percent=value):
            yield from _number("discount_percent", value, 100)
        case ev.PricedByHand(amount=value) | ev.ExtraAdded(amount=value) | ev.Paid(amount=value):
            yield from () if value is None else _number("amount", value, _MOST, least=-_MOST)
        case ev.Asked(slot=slot, choices=choices):
            yield from _slot(slot, SlotValue("", alternatives=choices), only_alternatives=True)
        case ev.Answered(slot=slot, value=value) if value is not None:
            yield from _slot(slot, SlotValue(value))
        case ev.Timed(action=action) if action not in CHOICES["time"]:
            yield f"the action {action[:40]!r}"
        case ev.TimeCorrected(seconds=value):
            yield from _number("seconds", value, _WHOLE)
        case ev.Quoted(snapshot=snapshot) | ev.Invoiced(snapshot=snapshot):
            yield from _snapshot(snapshot)
        case ev.Heard(clip=clip) | ev.MemoKept(clip=clip) if clip is not None and not _CLIP.fullmatch(clip):
            yield f"the clip {clip[:40]!r}"
        case _:
            pass
    if isinstance(body, ev.DayClosed | ev.Paid):
        date.fromisoformat(body.date)


def _slot(name: str, slot: SlotValue, *, only_alternatives: bool = False) -> Iterator[str]:
    for value in (*(() if only_alternatives else (slot.value,)), *slot.alternatives):
        if name in NUMBERS:
            yield from _number(name, value, 100 if name == "discount_percent" else 10**6)
        elif name in _CLOSED and name in CHOICES:
            given = value if name in LISTS and isinstance(value, tuple) else (value,)
            yield from (f"{name} {str(item)[:40]!r}" for item in given if item not in CHOICES[name])


def _number(name: str, value: Any, most: int, *, least: int = 0) -> Iterator[str]:
    if isinstance(value, bool) or not isinstance(value, int | Decimal) or not least <= value <= most:
        yield f"{name} {str(value)[:40]!r}"


def _snapshot(snapshot: Any) -> Iterator[str]:
    total = snapshot.get("total", {})
    if not isinstance(total.get("currency", ""), str):
        yield "the currency of the total"
    for end in ("low", "high"):
        try:
            found = Decimal(total.get(end, "0"))
        except InvalidOperation:
            found = Decimal("NaN")
        if not found.is_finite() or abs(found) > _MOST:
            yield f"the total {str(total.get(end))[:40]!r}"
    if not isinstance(snapshot.get("lines", []), list):
        yield "the lines"
