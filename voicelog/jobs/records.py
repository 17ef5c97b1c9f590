"""Jobs and their dents as the fold of events leaves them.

The fold (`voicelog.jobs.fold`) is the only writer of these records; everybody
else reads them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, MutableSequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from voicelog.journal.events import Body, By
from voicelog.meaning.note import SlotValue, Value, plain
from voicelog.meaning.place import Place
from voicelog.vocabulary import DAMAGE_SLOTS


@dataclass(frozen=True)
class Past:
    """One value that a field had, and how it came there."""

    value: Value | None
    """None for "not said any more"."""
    words: str
    by: By
    how: Literal["heard", "corrected", "answered", "cleared", "copied"]
    event: str
    """Id of the event."""
    utterance: int | None
    """Number of the utterance behind it; None for an action by hand."""
    at: str


@dataclass
class Field:
    """A slot of a record: the value in force, its doubt, and its history.

    A slot that nobody spoke of has no `Field` at all; "none" as a spoken value is one.
    """

    slot: SlotValue
    history: list[Past] = field(default_factory=list)
    question: str | None = None
    """Id of the open question about it."""

    @property
    def value(self) -> Value:
        """The value in force."""
        return self.slot.value

    @property
    def confirmed(self) -> bool:
        """Whether nothing about it is in doubt."""
        return self.slot.confirmed

    @property
    def choices(self) -> tuple[Value, ...]:
        """Every value it may have: the one in force first."""
        return (self.slot.value, *self.slot.alternatives)


@dataclass
class Reading:
    """One paint thickness reading in micrometres."""

    place: Literal["dent", "reference"]
    um: Field
    probe: str | None
    panel: str | None
    end: str | None
    side: str | None
    at: str
    utterance: int | None


@dataclass
class Step:
    """One step of the repair as it was said."""

    step: str
    details: dict[str, Value]
    at: str
    utterance: int | None


@dataclass
class Dent:
    """One damage record; with a `count` it stands for that many equal dents."""

    number: int
    fields: dict[str, Field] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    risks: list[str] = field(default_factory=list)
    removed: bool = False
    opened_at: str = ""
    worked_s: float = 0.0
    """Seconds the work timer ran while this dent was open."""
    cleared: dict[str, list[Past]] = field(default_factory=dict)
    """History of slots that are not said any more; it goes on when they are said again."""
    shelved: list[Question] = field(default_factory=list)
    """Open questions of a removed dent: they come back with it."""

    def get(self, slot: str) -> Any:
        """The value in force of a slot, or None where it was not said."""
        found = self.fields.get(slot)
        return None if found is None else found.value

    @property
    def place(self) -> Place:
        """(panel, end, side): what tells one panel of the car from another."""
        return (self.get("panel"), self.get("end"), self.get("side"))

    @property
    def of_hail(self) -> bool:
        """Whether it counts hail: what is read, reached or made of is then that of its panel."""
        several = int(self.get("count") or 1) > 1
        return several or any(self.get(name) for name in ("hail", "density", "oversize"))

    @property
    def unconfirmed(self) -> list[str]:
        """Slots in doubt, in the order of `DAMAGE_SLOTS`."""
        return [name for name in DAMAGE_SLOTS if name in self.fields and not self.fields[name].confirmed]

    def values(self) -> dict[str, Any]:
        """Slot values, JSON-ready, in the order of `DAMAGE_SLOTS`."""
        return {name: plain(self.fields[name].value) for name in DAMAGE_SLOTS if name in self.fields}


@dataclass
class Question:
    """A value in doubt that waits for its answer."""

    id: str
    slot: str
    choices: tuple[Value, ...]
    text: str
    dent: int | None
    reason: str
    asked_at: str
    group: str = ""
    """The group it was asked in."""
    would: tuple[tuple[Body, ...], ...] = ()
    """What each choice would change of the price; only of a question about a whole note."""

    @property
    def by_state(self) -> bool:
        """Whether it is about an order that contradicts the state of the job, not about what was heard."""
        return self.slot == "note" and not self.would


@dataclass
class Quote:
    """A quote as it was given."""

    version: int
    snapshot: dict[str, Any]
    at: str
    supplement_to: int | None = None
    accepted: bool | None = None
    """None until the customer decides."""
    event: str = ""
    """Id of the event that gave it."""


@dataclass(frozen=True)
class HandPrice:
    """A price that a person named."""

    amount: Value
    taxed: bool
    at: str


@dataclass(frozen=True)
class Extra:
    """A free line: a part, travel, work bought in."""

    id: str
    text: str
    amount: Value
    """Before tax."""


@dataclass(frozen=True)
class Issued:
    """An invoice or a credit note, as it was issued."""

    number: str
    snapshot: Mapping[str, Any]
    at: str
    of: str | None = None


@dataclass(frozen=True)
class Payment:
    """Money that came in, or was given back where it is less than nought."""

    id: str
    amount: Value
    currency: str
    how: str
    date: str
    payer: str = ""


@dataclass
class Timer:
    """The work timer of a job."""

    running_since: str | None = None
    """Wall clock at which it last started; None while it stands still."""
    worked_s: float = 0.0
    """Seconds worked before `running_since`."""
    state: Literal["idle", "running", "paused", "stopped"] = "idle"
    dent: int | None = None
    """The dent that was open when it last started."""

    def seconds(self, now: datetime) -> float:
        """Seconds worked up to `now`."""
        if self.running_since is None:
            return self.worked_s
        return self.worked_s + max(0.0, (now - datetime.fromisoformat(self.running_since)).total_seconds())


@dataclass
class Job:
    """One car on one visit."""

    id: str
    number: int
    opened_at: str
    details: dict[str, Field] = field(default_factory=dict)
    """plate, vin and, by hand, customer, phone, email, address, vehicle, notes."""
    dents: dict[int, Dent] = field(default_factory=dict)
    order: list[int] = field(default_factory=list)
    open_dent: int | None = None
    references: list[Reading] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    """Steps said while no dent was open."""
    risks: list[str] = field(default_factory=list)
    told: list[tuple[str, str]] = field(default_factory=list)
    """(risk, ISO time it was told), in order of telling."""
    questions: dict[str, Question] = field(default_factory=dict)
    timer: Timer = field(default_factory=Timer)
    photos: list[tuple[int, int | None, str]] = field(default_factory=list)
    """(photo number, dent number or None, ISO time)."""
    memos: list[tuple[int | None, str, str]] = field(default_factory=list)
    """(dent number or None, its words as far as they were written down, ISO time)."""
    cautions: dict[str, bool] = field(default_factory=dict)
    """Caution id -> whether it was acknowledged."""
    quotes: list[Quote] = field(default_factory=list)
    discount_percent: Value = 0
    hand_prices: dict[int | None, HandPrice] = field(default_factory=dict)
    """Prices that a person named, by dent; None for that of the whole job."""
    extras: list[Extra] = field(default_factory=list)
    issued: list[Issued] = field(default_factory=list)
    """Invoices and credit notes, each number once."""
    payments: list[Payment] = field(default_factory=list)
    joined_to: str | None = None
    """Id of the job of the same car that it is part of, and that charges for both."""
    parts: list[str] = field(default_factory=list)
    """Ids of the jobs that it took in."""
    finished_at: str | None = None
    gaps: tuple[str, ...] = ()
    renumbered: dict[tuple[str, int], int] = field(default_factory=dict)
    """(device, number it gave) -> number here, for dents whose number was given twice."""

    def get(self, detail: str) -> Any:
        """The value in force of a detail, or None where it is not known."""
        found = self.details.get(detail)
        return None if found is None else found.value

    def listed(self) -> Iterator[Dent]:
        """The dents that count, in the order of the list."""
        return (self.dents[number] for number in self.order if not self.dents[number].removed)

    @property
    def waiting(self) -> list[Question]:
        """Every open question: those of the latest utterance first, in the order it asked them."""
        groups = list(dict.fromkeys(question.group for question in self.questions.values()))
        return sorted(self.questions.values(), key=lambda question: -groups.index(question.group))

    @property
    def question(self) -> Question | None:
        """The open question: the one heard last, which is shown, and to which the next answer goes."""
        return next(iter(self.waiting), None)

    @property
    def every_risk(self) -> list[str]:
        """Risks noted for the job or one of its dents, each once."""
        return list(dict.fromkeys([*self.risks, *(risk for dent in self.listed() for risk in dent.risks)]))

    @property
    def state(self) -> str:
        """What state it is in, in a word for people: open, at work, paused, finished."""
        if self.finished_at:
            return "finished"
        return {"running": "at work", "paused": "paused"}.get(self.timer.state, "open")

    @property
    def title(self) -> str:
        """How the job is called for people: its number and plate."""
        plate = self.get("plate")
        return f"Job {self.number} {plate}" if plate else f"Job {self.number}"


@dataclass(frozen=True)
class Opened:
    """What is known of a job without folding it."""

    number: int
    opened_at: str


@dataclass
class State:
    """Everything that the events of a journal add up to."""

    jobs: Mapping[str, Job] = field(default_factory=dict)
    """By id, in order of opening.  Those of a long journal are folded when first looked at."""
    opened: dict[str, Opened] = field(default_factory=dict)
    """The same jobs in the same order, at no cost: use it for numbers and dates."""
    current: str | None = None
    awake: bool = True
    utterances: int = 0
    """Number of the last utterance."""
    undoable: MutableSequence[str] = field(default_factory=list)
    """Groups that undo would take back, oldest first."""
    redoable: list[str] = field(default_factory=list)
    """Groups that redo would bring back, next one last."""
    days_closed: list[str] = field(default_factory=list)
    refused: bool = False
    """Whether the last utterance was for us and yet changed nothing, for a reason that was given."""

    @property
    def job(self) -> Job | None:
        """The current job."""
        return None if self.current is None else self.jobs.get(self.current)
