"""Two jobs that are one car, worked on by two devices or opened twice: joined, and named when they may be."""

from __future__ import annotations

from collections.abc import Iterator, Set
from itertools import combinations

from voicelog.actions.change import Change, Context, refused
from voicelog.jobs.records import Job, State
from voicelog.journal import events as ev


def join_jobs(context: Context, number: int, to: int) -> Change:
    """Make two jobs one, by their numbers: the one opened later goes to the other, and both records stay.

    Jobs of two devices may have one number; "job two" is then the one opened last, "to job two" the first.
    """
    found = [_numbered(context.state, number), _numbered(context.state, to)[:1]]
    if not all(found):
        missing = to if found[0] else number
        return refused(f"there is no job {missing}", f"there is no job {missing}")
    return join(context, found[0][-1], found[1][0])


def join(context: Context, one: str, other: str) -> Change:
    """The same by their ids."""
    earlier, later = (context.state.jobs[key] for key in sorted((one, other)))
    if earlier.id == later.id:
        return refused("one job", "that is one job")
    for job in (earlier, later):
        if job.joined_to is not None:
            return part_of(context, job)
    if None in later.hand_prices:
        text = f"{later.title} has a price for the whole job; take it back, and name one for both"
        return refused("a price for the whole job", text)
    change = context.change(f"{later.title} joined to {earlier.title}")
    change.add(ev.Joined(later.id), earlier.id)
    change.add(ev.Joined(earlier.id), later.id)
    if context.state.current == later.id:
        change.add(ev.JobSelected(), earlier.id)
    return change


def part_of(context: Context, job: Job) -> Change:
    """A job that is part of another is not gone on with."""
    whole = context.state.jobs.get(job.joined_to or "")
    name = "another" if whole is None else f"job {whole.number}"
    return refused(f"part of {name}", f"job {job.number} is part of {name}: go to {name}")


def _numbered(state: State, number: int) -> list[str]:
    return [key for key, known in state.opened.items() if known.number == number]


def may_be_one(state: State, among: Set[str]) -> Iterator[tuple[Job, Job]]:
    """Pairs of jobs with one plate or VIN, opened on one day, of which one is `among`; the earlier first."""
    days: dict[str, list[str]] = {}
    for key, known in sorted(state.opened.items()):
        days.setdefault(known.opened_at[:10], []).append(key)
    for pair in (pair for keys in days.values() for pair in combinations(keys, 2)):
        if not among.isdisjoint(pair) and _one_car(*(state.jobs[key] for key in pair)):
            yield state.jobs[pair[0]], state.jobs[pair[1]]


def _one_car(one: Job, other: Job) -> bool:
    if one.joined_to is not None or other.joined_to is not None:
        return False
    named = [(one.get(name), other.get(name)) for name in ("vin", "plate")]
    return any(mine and mine == theirs for mine, theirs in named)
