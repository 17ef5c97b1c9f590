"""The lists of the review desk: jobs, utterances, dents, fields, lines, quotes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from textual.binding import BindingType

from voicelog.board.live.heard_line import DECISION_MARKS
from voicelog.board.review.commands import bindings
from voicelog.board.review.day_index import DayIndex, JobIndex, Target, holds, number
from voicelog.board.widgets.row_list import Column, Row, RowList
from voicelog.board.words import EMPTY, MARKED, Wording, label
from voicelog.estimate.estimate import Estimate, Line
from voicelog.jobs.doubts import Doubt
from voicelog.jobs.records import Dent, Quote
from voicelog.journal.events import Event, Heard
from voicelog.units import format_number
from voicelog.vocabulary import DAMAGE_SLOTS

BY_HAND = "✎"
"""The mark of a value typed at the desk."""
STATE_MARKS = {"finished": "✓", "at work": "▶", "paused": "‖", "open": " "}
"""Marks of a job by `Job.state`."""


class JobList(RowList):
    """The jobs of the day."""

    def __init__(self, wording: Wording, estimate: Callable[[str], Estimate | None]) -> None:
        columns = (Column("job"), Column("total", 20, right=True))
        super().__init__(columns, self._row, key=lambda job: job.id, id="jobs")
        self._wording, self._estimate = wording, estimate

    def _row(self, job: JobIndex) -> Row:
        estimate = self._estimate(job.id)
        total = "–" if estimate is None else self._wording.range(estimate.total, estimate.currency)
        mark = MARKED if job.doubts else STATE_MARKS[job.state]
        return Row((f"{mark} {job.number} {job.plate or 'no plate'}", total), marked=bool(job.doubts))


class EveryJob(RowList):
    """Every job of the journal, the latest first: day, plate, customer, how it stands."""

    def __init__(self) -> None:
        columns = (
            Column("job", 6), Column("day", 10), Column("plate", 10), Column("customer"),
            Column("stands", 18),
        )  # fmt: skip
        super().__init__(columns, self._row, key=lambda job: job.id, id="every-job")

    def follow(self, jobs: Sequence[JobIndex], holding: str) -> None:
        """Show those whose row holds the words looked for."""
        self.show([job for job in jobs if holds(" ".join(self._row(job).cells), holding)])

    def _row(self, job: JobIndex) -> Row:
        mark = MARKED if job.doubts else STATE_MARKS[job.state]
        cells = (f"{mark} {job.number}", job.day, job.plate, job.customer, job.standing)
        return Row(cells, marked=job.standing.endswith("to pay"))


class UtteranceList(RowList):
    """What was said, with the decision and how sure the engine was."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("utterances")

    def __init__(self, wording: Wording) -> None:
        columns = (
            Column("no.", 4, right=True), Column("time", 5), Column("", 1), Column("words"),
            Column("sure", 4, right=True), Column("went to", 13),
        )  # fmt: skip
        super().__init__(columns, self._row, key=number, id="utterances-list")
        self._index = DayIndex(None)
        self._numbers: dict[str, int] = {}

    def follow(self, index: DayIndex) -> None:
        """Show the utterances of another index."""
        self._index = index
        self._numbers = {job.id: job.number for job in index.jobs}
        self.show(index.utterances)

    def _row(self, event: Event) -> Row:
        said = event.body
        assert isinstance(said, Heard)
        waits = said.utterance in self._index.waiting
        settled = "accepted" if said.decision == "asked" else said.decision
        mark = MARKED if waits else DECISION_MARKS[settled][0]
        where = self._where(self._index.targets.get(said.utterance), said)
        sure = f"{said.confidence:.0%}"
        cells = (str(said.utterance), event.at[11:16], mark, said.words, sure, where)
        return Row(cells, marked=waits, faded=said.decision == "rejected")

    def _where(self, target: Target | None, said: Heard) -> str:
        if target is None:
            return DECISION_MARKS["rejected"][1] if said.decision == "rejected" else said.kind
        return f"job {self._numbers.get(target[0], '?')} dent {target[1]}"


def more_of(event: Event) -> str:
    """All that is known of one utterance, in up to four lines."""
    said = event.body
    assert isinstance(said, Heard)
    mark, word = DECISION_MARKS[said.decision]
    others = "; ".join(f"{found['words']} ({float(found['confidence']):.0%})" for found in said.alternatives)
    sound = "sound kept, p plays it" if said.clip else "no sound kept"
    lines = (
        f"› {said.words}",
        f"{mark} {word}: {said.answer or said.reason or '–'}",
        f"or: {others}" if others else "",
        f"{said.source} at {said.start_s:.1f} s · {said.engine} · {sound}",
    )
    return "\n".join(line for line in lines if line)


class DentList(RowList):
    """The dents of a job in the order of its list, removed ones last and faded."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("dents")

    def __init__(self, wording: Wording, estimate: Callable[[], Estimate | None]) -> None:
        columns = (
            Column("dent", 5), Column("where"), Column("size", 17),
            Column("price", 15, right=True),
        )  # fmt: skip
        super().__init__(columns, self._row, key=lambda dent: dent.number, id="dents-list")
        self._wording, self._estimate = wording, estimate

    def _row(self, dent: Dent) -> Row:
        mark = MARKED if dent.unconfirmed else "✕" if dent.removed else " "
        price = "removed" if dent.removed else self._price(dent)
        cells = (f"{mark} {dent.number}", self._wording.place(dent.place), self._size_of(dent), price)
        return Row(cells, marked=bool(dent.unconfirmed) and not dent.removed, faded=dent.removed)

    def _size_of(self, dent: Dent) -> str:
        length = dent.fields.get("length_mm")
        if length is not None and not length.confirmed:
            size = self._wording.choices("length_mm", length.choices)
        else:
            size = self._wording.size(dent)
        return f"{dent.get('count')} at {size}" if dent.get("count") else size

    def _price(self, dent: Dent) -> str:
        estimate = self._estimate()
        if estimate is None:
            return "–"
        for line in estimate.of(dent.number):
            if line.kind == "refusal":
                return "by hand" if line.cause == "beyond-table" else "no price"
            if line.kind == "dent" and line.amount is not None:
                return self._wording.range(line.amount, estimate.currency)
        return "–"


class FieldList(RowList):
    """The slots of one dent, empty ones too."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("fields")

    def __init__(self, wording: Wording) -> None:
        columns = (Column("field", 11), Column("value"), Column("by", 2))
        super().__init__(columns, self._row, key=lambda slot: slot, id="fields-list")
        self._wording = wording
        self.dent: Dent | None = None

    def follow(self, dent: Dent | None) -> None:
        """Show the fields of another dent."""
        self.dent = dent
        self.show(DAMAGE_SLOTS if dent is not None else ())

    def _row(self, slot: str) -> Row:
        found = self.dent.fields.get(slot) if self.dent else None
        if found is None:
            return Row((f"  {label(slot)}", EMPTY, ""), faded=True)
        by = BY_HAND if found.history and found.history[-1].by == "hand" else ""
        if found.confirmed:
            return Row((f"  {label(slot)}", self._wording.value(slot, found.value), by))
        return Row((f"{MARKED} {label(slot)}", self._wording.choices(slot, found.choices), by), marked=True)


class LineList(RowList):
    """The lines of an estimate."""

    def __init__(self, wording: Wording) -> None:
        columns = (Column("line"), Column("minutes", 9, right=True), Column("amount", 19, right=True))
        super().__init__(
            columns, self._row, key=lambda line: (line.kind, line.dents, line.text), id="lines-list"
        )
        self._wording, self._currency = wording, "GBP"

    def follow(self, estimate: Estimate | None) -> None:
        """Show another estimate."""
        if estimate is not None:
            self._currency = estimate.currency
        self.show(estimate.lines if estimate else ())

    def _row(self, line: Line) -> Row:
        if line.amount is None:
            return Row((f"✕ {line.text}: {line.reason}", "", "no price"), marked=line.kind == "refusal")
        low, high = format_number(line.minutes.low), format_number(line.minutes.high)
        minutes = "" if line.minutes.high == 0 else low if low == high else f"{low}–{high}"
        return Row((f"  {line.text}", minutes, self._wording.range(line.amount, self._currency)))


class QuoteList(RowList):
    """The quotes given for a job."""

    BINDINGS: ClassVar[list[BindingType]] = bindings("quotes")

    def __init__(self, wording: Wording) -> None:
        columns = (Column("no.", 4), Column("given", 16), Column("total", 22, right=True), Column("state"))
        super().__init__(columns, self._row, key=lambda quote: quote.version, id="quotes-list")
        self._wording = wording

    def _row(self, quote: Quote) -> Row:
        state = {None: f"{MARKED} open", True: "✓ accepted", False: "✕ declined"}[quote.accepted]
        if quote.supplement_to:
            state += f", supplement to {quote.supplement_to}"
        given = quote.at[:16].replace("T", " ")
        return Row((str(quote.version), given, _quoted(quote.snapshot), state), marked=quote.accepted is None)


class OpenList(RowList):
    """What is to be settled on a job: the open question first, then those that wait, latest first."""

    def __init__(self, wording: Wording) -> None:
        columns = (Column("of", 8), Column("field", 11), Column("either", 24), Column("why"))
        super().__init__(columns, self._row, key=lambda doubt: doubt.key, id="open-list")
        self._wording = wording

    def _row(self, doubt: Doubt) -> Row:
        where = "job" if doubt.dent is None else f"dent {doubt.dent}"
        either = self._wording.choices(doubt.slot, doubt.choices)
        return Row((f"{MARKED} {where}", label(doubt.slot), either, doubt.why), marked=bool(doubt.question))


def _quoted(snapshot: dict[str, Any]) -> str:
    """The total of a snapshot as it was given; its figures are never reckoned again."""
    total = snapshot.get("total", {})
    low, high = total.get("low", "?"), total.get("high", "?")
    money = low if low == high else f"{low}–{high}"
    return f"{total.get('currency', '')} {money}".strip()
