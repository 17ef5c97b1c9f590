"""What is done at the desk by hand, as drafts of events.

Pure functions: they read a state and give the drafts of one group, and change
nothing.  An empty list says that there is nothing to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from copy import deepcopy
from dataclasses import replace
from typing import Any, cast

from voicelog.jobs.changes import change
from voicelog.jobs.records import Dent, Job, State
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import SlotValue, Value
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS, LISTS, PANELS


def select_job(state: State, job: Job) -> list[Draft]:
    """Go on with a job that is there already."""
    return [] if state.current == job.id else [Draft(ev.JobSelected(), job.id)]


def describe(job: Job, details: Mapping[str, str]) -> list[Draft]:
    """Set what is known of car and customer; texts equal to what stands there are left out."""
    new = {name: text for name, text in details.items() if text != (job.get(name) or "")}
    if not new:
        return []
    slots = {name: SlotValue(text) for name, text in new.items()}
    return [Draft(ev.JobDescribed(slots, by="hand"), job.id)]


def open_dent(job: Job, dent: int) -> list[Draft]:
    """Make a dent the open one."""
    return [] if job.open_dent == dent else [Draft(ev.DentSelected(dent), job.id)]


def set_slots(job: Job, dent: Dent, values: Mapping[str, Value]) -> list[Draft]:
    """Write values into a dent; what they replace stays in the history.

    A value in doubt that is written again as it stands is thereby settled.
    """
    changed = {name: SlotValue(value) for name, value in values.items() if _differs(dent, name, value)}
    filled = {name: slot for name, slot in changed.items() if name not in dent.fields}
    other = {name: slot for name, slot in changed.items() if name in dent.fields}
    drafts = []
    if filled:
        drafts.append(Draft(ev.Noted(dent.number, filled, by="hand"), job.id))
    if other:
        drafts.append(Draft(ev.Corrected(dent.number, other, by="hand"), job.id))
    return drafts


def _differs(dent: Dent, slot: str, value: Value) -> bool:
    found = dent.fields.get(slot)
    return found is None or found.value != value or not found.confirmed


def clear_slot(job: Job, dent: Dent, slot: str) -> list[Draft]:
    """Take a value away."""
    return [Draft(ev.Cleared(dent.number, slot, by="hand"), job.id)] if slot in dent.fields else []


def choose(job: Job, dent: Dent, slot: str, value: Value) -> list[Draft]:
    """Settle a slot in doubt; where a question is open about it, answer it."""
    for question in job.questions.values():
        if question.dent == dent.number and question.slot == slot:
            return answer(job, question.id, value)
    return set_slots(job, dent, {slot: value})


def answer(job: Job, question: str, value: Value | None) -> list[Draft]:
    """Settle an open question; None drops it and leaves the value in force."""
    if question not in job.questions:
        return []
    return [Draft(ev.Answered(question, value, by="hand"), job.id)]


def measure(job: Job, dent: Dent | None, micrometres: Value) -> list[Draft]:
    """A paint reading at a dent, or beside the damage where no dent is given."""
    place: Any = "reference" if dent is None else "dent"
    number = None if dent is None else dent.number
    return [Draft(ev.Measured(place, SlotValue(micrometres), number, by="hand"), job.id)]


def remove(job: Job, dent: Dent) -> list[Draft]:
    """Let a dent count no longer."""
    return [] if dent.removed else [Draft(ev.DentRemoved(dent.number, by="hand"), job.id)]


def restore(job: Job, dent: Dent) -> list[Draft]:
    """Let a removed dent count again."""
    return [Draft(ev.DentRestored(dent.number, by="hand"), job.id)] if dent.removed else []


def move(job: Job, dent: Dent, by: int) -> list[Draft]:
    """Move a dent up (negative) or down the list of those that count."""
    listed = [found.number for found in job.listed()]
    if dent.number not in listed:
        return []
    at = listed.index(dent.number)
    to = min(len(listed) - 1, max(0, at + by))
    if to == at:
        return []
    listed.insert(to, listed.pop(at))
    return [Draft(ev.DentsOrdered(tuple(listed)), job.id)]


def next_number(job: Job) -> int:
    """The number of the job's next dent; numbers are never given twice."""
    return max(job.dents, default=0) + 1


def add_dent(job: Job) -> list[Draft]:
    """Begin a dent record."""
    return [Draft(ev.DentOpened(next_number(job)), job.id)]


def split(job: Job, dent: Dent, first: int | None = None) -> list[Draft]:
    """Make two records of one: a count note is divided (`first` stay), a single dent is copied.

    Readings, steps and risks stay with the first record.
    """
    new = next_number(job)
    drafts = [Draft(ev.DentOpened(new, copied_from=dent.number), job.id)]
    count = dent.get("count")
    if count is None or int(count) < 2:
        return drafts
    stay = int(count) // 2 if first is None else first
    if not 0 < stay < int(count):
        return []
    for number, share in ((dent.number, stay), (new, int(count) - stay)):
        slots = {"count": SlotValue(share)}
        drafts.append(Draft(ev.Corrected(number, slots, by="hand"), job.id))
    return drafts


def merge(job: Job, kept: Dent, other: Dent) -> list[Draft]:
    """Two records of the same dent become one; the other is removed.

    What only the other knows fills the one kept; lists are united; where both know
    a value and differ, the one kept stands in doubt with the other's as alternative.
    """
    if kept.number == other.number or other.removed:
        return []
    filled = {name: found.slot for name, found in other.fields.items() if name not in kept.fields}
    both = [name for name in other.fields if name in kept.fields]
    joined = {name: slot for name in both if (slot := _joined(name, kept, other)) is not None}
    drafts = []
    if filled:
        drafts.append(Draft(ev.Noted(kept.number, filled, by="hand"), job.id))
    if joined:
        drafts.append(Draft(ev.Corrected(kept.number, joined, by="hand"), job.id))
    return [*drafts, *_carried(other, kept.number, job.id), *remove(job, other)]


def _joined(slot: str, kept: Dent, other: Dent) -> SlotValue | None:
    """The value of a slot that both know; None where nothing changes."""
    mine, theirs = kept.fields[slot].slot, other.fields[slot].slot
    if slot in LISTS:
        said = {*cast(tuple[str, ...], mine.value), *cast(tuple[str, ...], theirs.value)}
        united = tuple(item for item in CHOICES[slot] if item in said)
        return None if united == mine.value else replace(mine, value=united)
    possible = (theirs.value, *theirs.alternatives)
    new = tuple(value for value in possible if value not in (mine.value, *mine.alternatives))
    if not new:
        return None
    doubt = f"dent {other.number} said otherwise"
    return replace(mine, alternatives=(*mine.alternatives, *new), doubt=doubt)


def _carried(dent: Dent, to: int, job: str) -> list[Draft]:
    """Readings, steps and risks of a dent, written again for the dent that takes its place."""
    drafts = []
    for reading in dent.readings:
        slots = {"probe": SlotValue(reading.probe)} if reading.probe else {}
        drafts.append(Draft(ev.Measured("dent", reading.um.slot, to, slots, by="hand"), job))
    for step in dent.steps:
        said = {name: SlotValue(value) for name, value in {"step": step.step, **step.details}.items()}
        drafts.append(Draft(ev.Stepped(said, to), job))
    if dent.risks:
        drafts.append(Draft(ev.RiskNoted(tuple(dent.risks), to), job))
    return drafts


def reassign(job: Job, dent: Dent, target: Job) -> list[Draft]:
    """Move a dent to another job, where it gets a number of its own."""
    if job.id == target.id or dent.removed:
        return []
    new = next_number(target)
    # A dent that another belongs to is named by its number, which means nothing in the other job.
    slots = {name: found.slot for name, found in dent.fields.items() if name != "belongs_to"}
    drafts = [Draft(ev.DentOpened(new), target.id)]
    if slots:
        drafts.append(Draft(ev.Noted(new, slots, by="hand"), target.id))
    return [*drafts, *_carried(dent, new, target.id), *remove(job, dent)]


def hand_over(job: Job, source: Dent, slot: str, target: Dent) -> list[Draft]:
    """Move one value from a dent to another ("that size was the next dent's")."""
    found = source.fields.get(slot)
    if found is None or source.number == target.number:
        return []
    kind = ev.Corrected if slot in target.fields else ev.Noted
    taken = Draft(kind(target.number, {slot: found.slot}, by="hand"), job.id)
    return [taken, *clear_slot(job, source, slot)]


def time(job: Job, action: str) -> list[Draft]:
    """Start, pause, resume or stop the work timer."""
    return [Draft(ev.Timed(action, job.open_dent), job.id)]


def discount(job: Job, percent: Value) -> list[Draft]:
    """Give a discount on the net sum."""
    if job.discount_percent == percent:
        return []
    return [Draft(ev.Discounted(percent, by="hand"), job.id)]


def tell(job: Job) -> list[Draft]:
    """The customer was told every risk noted so far that was not told yet."""
    told = {risk for risk, _ in job.told}
    noted: Iterable[str] = [*job.risks, *(risk for dent in job.listed() for risk in dent.risks)]
    risks = tuple(dict.fromkeys(risk for risk in noted if risk not in told))
    return [Draft(ev.Told(risks), job.id)] if risks else []


def understand(job: Job) -> list[Draft]:
    """Acknowledge every caution that waits."""
    return [Draft(ev.Understood(caution), job.id) for caution, done in job.cautions.items() if not done]


def give_quote(job: Job, snapshot: Mapping[str, Any]) -> list[Draft]:
    """Give a quote; one after an accepted quote is a supplement to it."""
    accepted = [quote.version for quote in job.quotes if quote.accepted]
    version = max((quote.version for quote in job.quotes), default=0) + 1
    return [Draft(ev.Quoted(version, snapshot, accepted[-1] if accepted else None), job.id)]


def settle_quote(job: Job, version: int, *, accepted: bool) -> list[Draft]:
    """The customer accepted or declined a quote that is still open."""
    still_open = any(quote.version == version and quote.accepted is None for quote in job.quotes)
    return [Draft(ev.QuoteSettled(version, accepted), job.id)] if still_open else []


def finish(job: Job, gaps: Iterable[str] = ()) -> list[Draft]:
    """Call the job finished."""
    return [] if job.finished_at else [Draft(ev.Finished(tuple(gaps)), job.id)]


def trial(job: Job, drafts: Iterable[Draft]) -> Job:
    """The job as it would be after the drafts; neither the job nor the journal changes."""
    tried = deepcopy(job)
    at = job.timer.running_since or job.opened_at
    for draft in drafts:
        if draft.job == job.id:
            change(tried, ev.Event("", "", at, 0, "", "", job.id, draft.body))
    return tried


def misplaced(values: Mapping[str, Any]) -> str:
    """What is wrong with a place, a clause for people; empty where it makes sense."""
    panel = PANELS.get(str(values.get("panel")))
    if panel is None:
        return "a side or an end needs a panel" if values.get("side") or values.get("end") else ""
    if values.get("side") and not panel.sides:
        return f"{panel.name} has no left and right"
    if panel.sides and not values.get("side"):
        return f"{panel.name} needs left or right"
    if panel.ends and not values.get("end"):
        return f"{panel.name} needs front or rear"
    return ""


def slots_of(dent: Dent) -> dict[str, Value]:
    """Values in force by slot, in the order of the papers."""
    return {name: dent.fields[name].value for name in DAMAGE_SLOTS if name in dent.fields}
