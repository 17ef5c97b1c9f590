"""An event as a row of the journal, and its place in the chain of hashes.

Every row carries a SHA-256 over all it holds and over the hash of the row that the
same device wrote before it.  A changed row no longer fits its hash; a row taken out
is missed by the row after it, and the last one by `heads`.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from voicelog.errors import VoicelogError
from voicelog.journal.events import BODIES, Body, Event
from voicelog.journal.personal import commitment, join, split
from voicelog.visible import visible_data

COLUMNS: Final = (
    "id", "grp", "at", "ord", "device", "version", "job", "type", "schema",
    "body", "derived", "personal", "prev", "hash",
)  # fmt: skip

UPGRADES: Final[dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]]] = {}
"""How the JSON of a body written by schema n is brought to n + 1, by (type, n)."""

_ENCODER: Final = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))
GENESIS: Final = b""
"""`prev` of the first row of a device."""


@dataclass(frozen=True)
class Row:
    """One row of `events`, with the personal parts that belong to it where they are known."""

    id: str
    grp: str
    at: str
    ord: int
    device: str
    version: str
    job: str | None
    type: str
    schema: int
    body: str
    """JSON without the personal parts."""
    derived: str
    personal: bytes | None
    """Hash of the personal parts; None where it has none."""
    prev: bytes
    hash: bytes
    salt: str | None = None
    data: str | None = None
    """JSON of the personal parts; None where there are none, or where they were deleted."""

    def values(self) -> tuple[Any, ...]:
        """Values in the order of `COLUMNS`."""
        return tuple(getattr(self, name) for name in COLUMNS)

    def computed_hash(self) -> bytes:
        """The hash that the row ought to have."""
        return _digest(self)

    def problem(self) -> str | None:
        """Why it is not what was written, in one line; None where it is."""
        try:
            if self.computed_hash() != self.hash:
                return f"event {self.id} was changed after it was written"
            parts = self.data is not None and self.salt is not None
            whole = not parts or commitment(str(self.salt), str(self.data)) == self.personal
        except (TypeError, ValueError, AttributeError):
            return f"event {self.id!r} cannot be read"
        return None if whole else f"the details of event {self.id} were changed"

    @property
    def event(self) -> Event:
        """The event, typed.

        Raises:
            VoicelogError: the row is of a type or schema this version does not know.
        """
        try:
            apart = None if self.data is None else shown(self.data)
            body = join(self.type, shown(self.body), apart)
            derived = shown(self.derived)
            if datetime.fromisoformat(self.at).tzinfo is None:
                raise ValueError(f"no offset in {self.at}")
        except (ValueError, TypeError, AttributeError) as error:
            raise VoicelogError(f"event {self.id} is damaged ({error})", todo="run verify") from error
        return Event(
            id=self.id,
            group=self.grp,
            at=self.at,
            order=self.ord,
            device=self.device,
            version=self.version,
            job=self.job,
            body=decode(self.type, self.schema, body),
            derived=derived,
        )


def shown(text: str) -> Any:
    """What JSON text says, with marks for control characters: an older journal may hold them."""
    return visible_data(json.loads(text), text)


def canonical(data: Any) -> str:
    """JSON with sorted keys and no spaces: equal data give equal text."""
    return _ENCODER.encode(data)


def decode(kind: str, schema: int, data: Mapping[str, Any]) -> Body:
    """The body of a type from its JSON, brought forward from older schemas.

    Raises:
        VoicelogError: the type is unknown, its schema newer, or the data do not fit it.
    """
    known = BODIES.get(kind)
    if known is None or schema > known.SCHEMA:
        raise VoicelogError(
            f"an event of type {kind!r}, schema {schema}, is from a newer version",
            todo="open the journal with that version",
        )
    body = dict(data)
    for step in range(schema, known.SCHEMA):
        body = UPGRADES[kind, step](body)
    try:
        return known.from_json(body)
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise VoicelogError(f"an event of type {kind!r} cannot be read ({error})") from error


def make_row(event: Event, prev: bytes, salt: Callable[[], str] = lambda: secrets.token_hex(16)) -> Row:
    """The row of a new event that follows the row with hash `prev`."""
    body, apart = split(event.type, event.body.to_json())
    fresh = None if apart is None else salt()
    data = None if apart is None else canonical(apart)
    row = Row(
        id=event.id,
        grp=event.group,
        at=event.at,
        ord=event.order,
        device=event.device,
        version=event.version,
        job=event.job,
        type=event.type,
        schema=event.body.SCHEMA,
        body=canonical(body),
        derived=canonical(dict(event.derived)),
        personal=None if fresh is None or data is None else commitment(fresh, data),
        prev=prev,
        hash=b"",
        salt=fresh,
        data=data,
    )
    return Row(**{**row.__dict__, "hash": _digest(row)})


def _digest(row: Row) -> bytes:
    personal = None if row.personal is None else row.personal.hex()
    parts = [getattr(row, name) for name in COLUMNS[:11]]
    return hashlib.sha256(canonical([*parts, personal, row.prev.hex()]).encode()).digest()
