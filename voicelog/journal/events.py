"""The facts the journal holds: typed, versioned, frozen records in the past tense.

An `Event` is an envelope around one `Body`.  All events of one utterance (or of
one action by hand) share a `group`; undo and redo name a group.  Dents are named
by their number within the job, which is never given twice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, ClassVar, Literal

from voicelog.meaning.note import SlotValue, Value, plain, stored
from voicelog.vocabulary import Decision, Kind

By = Literal["voice", "hand"]

REOPENED = "reopened"
"""Key in `derived` of an opening that takes the place of one that was lost to damage."""

BODIES: dict[str, type[Body]] = {}
"""Every body class by its `TYPE`, filled as the classes are defined."""


@dataclass(frozen=True)
class Body:
    """What happened.  Subclasses hold only JSON-ready values, slot values and tuples."""

    TYPE: ClassVar[str]
    """Its name in the journal, which never changes: that of the class, "job-opened" for `JobOpened`."""
    SCHEMA: ClassVar[int] = 1

    def __init_subclass__(cls, *, abstract: bool = False) -> None:
        cls.TYPE = re.sub(r"\B(?=[A-Z])", "-", cls.__name__).lower()
        if not abstract:
            BODIES[cls.TYPE] = cls

    def to_json(self) -> dict[str, Any]:
        """JSON-ready form: slot values by `SlotValue.to_json`, tuples as lists."""
        return {item.name: _json_of(getattr(self, item.name)) for item in fields(self)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Body:
        """The inverse of `to_json`; unknown keys are refused with `TypeError`."""
        return cls(**{name: value_of(name, value) for name, value in data.items()})


def with_type(body: Body) -> dict[str, Any]:
    """A body as JSON that tells its type, to stand inside of another."""
    return {"type": body.TYPE, **body.to_json()}


def of_type(data: Mapping[str, Any]) -> Body | None:
    """The inverse of `with_type`; None for what this version does not know."""
    try:
        rest = {name: value for name, value in data.items() if name != "type"}
        return BODIES[str(data["type"])].from_json(rest)
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _json_of(value: Any) -> Any:
    if isinstance(value, SlotValue):
        return value.to_json()
    if isinstance(value, Mapping):
        return {key: _json_of(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_json_of(item) for item in value]
    return plain(value)


def value_of(name: str, value: Any) -> Any:
    """A field of a body from its JSON form; `slots` and `um` hold slot values, lists become tuples."""
    if name == "slots":
        return {key: SlotValue.from_json(item) for key, item in value.items()}
    if name == "um":
        return SlotValue.from_json(value)
    if isinstance(value, list):
        return tuple(value_of("", item) for item in value)
    if isinstance(value, dict) or value is None:
        return value
    return stored(value)


@dataclass(frozen=True)
class Event:
    """One fact with its place in time and its origin."""

    id: str
    """Time-ordered unique id (UUID version 7, text form)."""
    group: str
    """Id shared by all events of one utterance or one action by hand."""
    at: str
    """Wall clock, ISO 8601 with offset, milliseconds."""
    order: int
    """Monotonic order within the device, from 1; never repeats, whatever the wall clock does."""
    device: str
    version: str
    """Version of voicelog that wrote it."""
    job: str | None
    """Id of the job it belongs to (the id of its JobOpened event's group); None where it belongs to none."""
    body: Body
    derived: Mapping[str, Any] = field(default_factory=dict)
    """What it was derived from, as in `{"utterance": 3}`."""

    @property
    def type(self) -> str:
        """The name of the body's type."""
        return self.body.TYPE


@dataclass(frozen=True)
class Said(Body, abstract=True):
    """What may be said or done by hand."""

    by: By = field(default="voice", kw_only=True)


@dataclass(frozen=True)
class Heard(Body):
    """An utterance: what was heard, how sure, and what was decided.  Always the first of its group."""

    utterance: int
    """Number within the journal, from 1."""
    source: str
    """File name, "microphone" or "typed"."""
    start_s: float
    end_s: float
    """Seconds from the start of the source."""
    words: str
    confidence: float
    decision: Decision
    kind: Kind
    slots: Mapping[str, SlotValue] = field(default_factory=dict)
    """Slots as understood, also those that were asked about."""
    alternatives: tuple[Mapping[str, Any], ...] = ()
    """`{"words": str, "confidence": float}`, most likely first."""
    question: str | None = None
    """The question asked, as spoken."""
    answer: str = ""
    """What was said back, as spoken."""
    reason: str = ""
    """Why it was asked or rejected: the slot that failed and how."""
    heard: str = ""
    """What the engine wrote without the grammar, or the words as typed; empty for what is not for us."""
    kept: tuple[str, ...] = ()
    """Groups of words that no slot holds."""
    engine: str = ""
    grammar: str = ""
    """SHA-256 of the grammar in force."""
    clip: str | None = None
    """SHA-256 of the kept sound; None where none is kept."""

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Heard:
        """As `Body.from_json`; seconds and confidence are floats, not slot numbers."""
        values = {name: value_of(name, value) for name, value in data.items()}
        values.update({name: float(data[name]) for name in ("start_s", "end_s", "confidence")})
        return cls(**values)


@dataclass(frozen=True)
class JobOpened(Body):
    """A new job began and is the current one."""

    number: int
    """Number within the journal, from 1."""


@dataclass(frozen=True)
class JobSelected(Body):
    """Work went on with a job that was there already."""


@dataclass(frozen=True)
class JobDescribed(Said):
    """What is known of car and customer: plate, vin, and by hand customer, phone, address, email,
    vehicle, notes.  Personal details are kept apart from the events (see the store) so that they
    can be forgotten."""

    slots: Mapping[str, SlotValue]


@dataclass(frozen=True)
class DentOpened(Body):
    """A dent record began and is the open one."""

    dent: int
    copied_from: int | None = None
    """The dent it was copied from ("same again on the right")."""


@dataclass(frozen=True)
class Noted(Said):
    """Slots were filled on a dent."""

    dent: int
    slots: Mapping[str, SlotValue]


@dataclass(frozen=True)
class Corrected(Said):
    """Slots of a dent got other values; what stood there before stays in its history."""

    dent: int
    slots: Mapping[str, SlotValue]


@dataclass(frozen=True)
class Cleared(Said):
    """A slot of a dent is not said any more."""

    dent: int
    slot: str


@dataclass(frozen=True)
class DentSelected(Body):
    """A dent became the open one ("go to dent two")."""

    dent: int


@dataclass(frozen=True)
class DentRemoved(Said):
    """A dent counts no longer; its record stays and can be restored."""

    dent: int


@dataclass(frozen=True)
class DentRestored(Said):
    """A removed dent counts again."""

    dent: int


@dataclass(frozen=True)
class DentsOrdered(Body):
    """The order in which the dents of a job are listed."""

    order: tuple[int, ...]


@dataclass(frozen=True)
class Measured(Said):
    """A paint thickness reading."""

    place: Literal["dent", "reference"]
    um: SlotValue
    """Micrometres."""
    dent: int | None = None
    slots: Mapping[str, SlotValue] = field(default_factory=dict)
    """`probe` and, for a reference, `panel`, `end`, `side` where said."""


@dataclass(frozen=True)
class Remeasured(Said):
    """The last reading of a place was corrected."""

    place: Literal["dent", "reference"]
    um: SlotValue
    dent: int | None = None


@dataclass(frozen=True)
class Stepped(Body):
    """A step of the repair was done."""

    slots: Mapping[str, SlotValue]
    """`step` and, where said, `pulls`, `tab_mm`, `tab`, `direction`."""
    dent: int | None = None


@dataclass(frozen=True)
class Timed(Body):
    """The work timer of a job (and of its open dent) changed."""

    action: str
    """start, pause, resume or stop."""
    dent: int | None = None


@dataclass(frozen=True)
class RiskNoted(Body):
    """What may remain after the repair."""

    risks: tuple[str, ...]
    dent: int | None = None
    words: str = ""


@dataclass(frozen=True)
class Told(Body):
    """The customer was told what may remain."""

    risks: tuple[str, ...]
    words: str = ""


@dataclass(frozen=True)
class Asked(Body):
    """A value is in doubt: one of `choices`, until answered."""

    question: str
    """Id of the question: the group it was asked in, with a suffix where there are several."""
    slot: str
    choices: tuple[Value, ...]
    text: str
    dent: int | None = None
    reason: str = ""
    would: tuple[tuple[Mapping[str, Any], ...], ...] = ()
    """For a question about a whole note: what each choice would change of the price (`with_type`)."""


@dataclass(frozen=True)
class Answered(Said):
    """A question was settled with one of its choices or another value."""

    question: str
    value: Value | None
    """None when the question was dropped without an answer: what is in doubt stays so."""
    words: str = ""
    slot: str = ""
    """Slot of the question; the logbook fills it in where it is not given."""


@dataclass(frozen=True)
class Undone(Body):
    """Every change of the group `target` counts no longer."""

    target: str


@dataclass(frozen=True)
class Redone(Body):
    """The undone group `target` counts again."""

    target: str


@dataclass(frozen=True)
class Struck(Said):
    """One event of the job counts no longer, while the rest of its group stays."""

    event: str
    """Its id."""


@dataclass(frozen=True)
class TimeCorrected(Said):
    """How long was worked on a job in truth, up to this moment."""

    seconds: int


@dataclass(frozen=True)
class Cautioned(Body):
    """A caution was shown and spoken."""

    caution: str


@dataclass(frozen=True)
class Understood(Body):
    """A caution was acknowledged."""

    caution: str


@dataclass(frozen=True)
class PhotoMarked(Body):
    """A photo was taken about now."""

    number: int
    dent: int | None = None


@dataclass(frozen=True)
class MemoKept(Body):
    """Something was said that is kept as it is."""

    dent: int | None = None
    clip: str | None = None
    """SHA-256 of its sound, where no words of it were written."""
    words: str = ""


@dataclass(frozen=True)
class Quoted(Body):
    """A quote was given: a snapshot that no later card can change."""

    version: int
    snapshot: Mapping[str, Any]
    """The estimate as JSON: lines, totals, currency, card hash, what the customer was told."""
    supplement_to: int | None = None


@dataclass(frozen=True)
class QuoteSettled(Body):
    """The customer accepted or declined a quote."""

    version: int
    accepted: bool


@dataclass(frozen=True)
class Discounted(Said):
    """A discount was given on the job, percent of the net sum."""

    percent: Value


@dataclass(frozen=True)
class PricedByHand(Said):
    """A person named a price, for a dent or for the whole job, in place of the card's."""

    amount: Value | None
    """In the currency of the card; None takes a price by hand back."""
    dent: int | None = None
    taxed: bool = False
    """Whether the amount holds the tax; otherwise the tax comes on top."""


@dataclass(frozen=True)
class ExtraAdded(Said):
    """A free line was added: a part, travel, work bought in.  Its id is that of the event's group."""

    text: str
    amount: Value
    """Before tax, for all of it."""


@dataclass(frozen=True)
class ExtraRemoved(Said):
    """A free line counts no longer."""

    extra: str


@dataclass(frozen=True)
class Invoiced(Body):
    """An invoice or a credit note was issued; it never changes, and undo does not take it back."""

    number: str
    """Unique: the prefix of a device and a sequence of its own."""
    snapshot: Mapping[str, Any]
    """Lines, sums, tax, seller, buyer and dates (see `voicelog.estimate.invoices`)."""
    of: str | None = None
    """The invoice that it corrects or credits."""


@dataclass(frozen=True)
class Paid(Said):
    """Money came in for a job; never any data of a card.  Its id is that of the event's group."""

    amount: Value
    """Less than nought for money that was given back."""
    currency: str
    how: str
    """cash, card, transfer or other."""
    date: str
    """ISO 8601 calendar date on which it came in."""
    payer: str = ""
    """customer or insurer, where it was said."""


@dataclass(frozen=True)
class Joined(Body):
    """The job and another are one car; told of both, and the one opened later goes to the other."""

    TYPE = "joined"
    other: str
    """Id of the other job."""


@dataclass(frozen=True)
class Finished(Body):
    """The job was called finished; `gaps` names what was missing then."""

    gaps: tuple[str, ...] = ()


@dataclass(frozen=True)
class DayClosed(Body):
    """The day's log was closed."""

    date: str
    """ISO 8601 calendar date, local time."""


@dataclass(frozen=True)
class ListeningChanged(Body):
    """The ear was put to sleep or woken by voice."""

    awake: bool


@dataclass(frozen=True)
class Forgotten(Body):
    """The customer's personal details and clips of this job were deleted on request.

    They are gone from every earlier event of the job, in this journal and in each that
    this event is merged into.
    """


@dataclass(frozen=True)
class Salvaged(Body):
    """This journal was made of what was whole in a damaged one; says where the gaps are."""

    gaps: tuple[str, ...]
    """Hashes, in hex, of events that others follow and that could not be read."""
    details: tuple[str, ...] = ()
    """Ids of events whose personal details could not be read."""


RECORD_BODIES: tuple[type[Body], ...] = (
    JobOpened, JobSelected, JobDescribed, DentOpened, Noted, Corrected, Cleared, DentSelected, DentRemoved,
    DentRestored, DentsOrdered, Measured, Remeasured, Stepped, Timed, RiskNoted, Told, Asked, Answered,
    Understood, PhotoMarked, MemoKept, Quoted, QuoteSettled, Discounted, PricedByHand, ExtraAdded,
    ExtraRemoved, Invoiced, Paid, Joined, Finished, DayClosed, Struck, TimeCorrected,
)  # fmt: skip
"""Bodies that undo takes back: all that is said or done.  A group holding none of them is no target."""
