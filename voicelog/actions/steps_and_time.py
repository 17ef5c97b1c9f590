"""What is done while working: steps, the clock, photos, memos, cautions understood."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from voicelog.actions.change import NO_JOB, Change, Context, ask_first, job_for, refused
from voicelog.actions.contradictions import ask_of_step
from voicelog.jobs.records import Job, Step
from voicelog.journal import events as ev
from voicelog.meaning.note import Slots, SlotValue
from voicelog.meaning.wording import read_back


def note_step(context: Context, slots: Slots, dent: int | None = None) -> Change:
    """A step of the repair, at the dent given or the open one, else of the job."""
    there = context.find(dent) or context.dent
    change = context.change(read_back(slots, context.region))
    job = job_for(context, change)
    change.add(ev.Stepped(slots, None if there is None else there.number), job)
    if there is not None:
        details = {name: slot.value for name, slot in slots.items() if name != "step"}
        ask_of_step(context, change, job, there, Step(str(slots["step"].value), details, "", None))
    return change


def note_time(context: Context, action: str) -> Change:
    """Start, pause, resume or stop the work timer; what contradicts its state is asked about.

    "Start anew" ends the span that runs, which counts as worked, and begins one with the open dent.
    """
    if context.job is None and action != "start":
        return refused("no job is open", NO_JOB)
    why = "" if context.job is None or context.sure else _contradicted(context.job, action, context.now)
    if why:
        return ask_first(context, "start work", why)
    change = context.change(read_back({"time": SlotValue(action)}, context.region))
    job = job_for(context, change)
    for before in [] if context.job is None else context.job.waiting:
        if before.reason.startswith("the clock "):
            change.add(ev.Answered(before.id, None), job)
    change.add(ev.Timed(action, None if context.dent is None else context.dent.number), job)
    return change


def running_since(job: Job, now: datetime) -> str:
    """That the clock runs, and since when: with the day where that is not today; empty where it stands."""
    if job.timer.running_since is None:
        return ""
    since = datetime.fromisoformat(job.timer.running_since)
    return f"the clock is running since {since:{'%H:%M' if since.date() == now.date() else '%A %H:%M'}}"


def _contradicted(job: Job, action: str, now: datetime) -> str:
    """The state and the question where the clock cannot do it.  A "stop" heard as "start" must not pass."""
    state = job.timer.state
    if action in POSSIBLE[state]:
        return ""
    if state == "running":
        return f"{running_since(job, now)}; start anew?"
    return f"the clock {'was not started yet' if state == 'idle' else 'is not running'}; start it?"


POSSIBLE = {
    "idle": ("start",), "running": ("pause", "stop"), "paused": ("start", "resume", "stop"),
    "stopped": ("start", "resume"),
}  # fmt: skip
"""What the clock can do, by its state."""


def mark_photo(context: Context) -> Change:
    """A photo was taken about now, of the open dent."""
    job = context.job
    if job is None:
        return refused("no job is open", NO_JOB)
    number = max((photo for photo, _, _ in job.photos), default=0) + 1
    change = context.change(f"photo {number}")
    change.add(ev.PhotoMarked(number, None if context.dent is None else context.dent.number), job.id)
    return change


def keep_memo(context: Context, clip: str | None, words: str = "") -> Change:
    """Keep words, or sound of which no words were written; opens a job where there is none."""
    change = context.change(f"memo kept: {words}" if words else "memo kept")
    job = job_for(context, change)
    change.add(ev.MemoKept(None if context.dent is None else context.dent.number, clip, words), job)
    return change


def keep_words(
    context: Context, words: Sequence[str], *, into: Change | None = None, memo: bool = False
) -> Change:
    """Keep words that no slot holds with the open dent; opens a job where there is none.

    Args:
        context: the job.
        words: groups of words.
        into: a change of the same utterance that they are added to; None for one of their own.
        memo: whether they were said as a memo.
    """
    change = context.change() if into is None else into
    job = next((draft.job for draft in change.drafts if draft.job), None) or job_for(context, change)
    opened = next((draft.body.dent for draft in change.drafts if isinstance(draft.body, ev.DentOpened)), None)
    dent = opened or (None if context.dent is None else context.dent.number)
    for group in words:
        change.add(ev.MemoKept(dent, words=group), job)
    change.say(f"{'memo' if memo else 'kept'}: {', '.join(words)}")
    return change


def note_minutes(context: Context, minutes: SlotValue) -> Change:
    """Time said afterwards, noted with the open dent."""
    if context.job is None:
        return refused("no job is open", NO_JOB)
    change = context.change(f"{read_back({'minutes': minutes}, context.region)} noted")
    dent = context.dent
    if dent is None:
        change.add(ev.JobDescribed({"minutes": minutes}), context.job.id)
    else:
        kind = ev.Corrected if "minutes" in dent.fields else ev.Noted
        change.add(kind(dent.number, {"minutes": minutes}), context.job.id)
    return change


def acknowledge(context: Context) -> Change:
    """Every caution that waits was understood."""
    waiting = [] if context.job is None else [c for c, seen in context.job.cautions.items() if not seen]
    if context.job is None or not waiting:
        return refused("no caution is open", "no caution is open")
    change = context.change("understood")
    for caution in waiting:
        change.add(ev.Understood(caution), context.job.id)
    return change
