"""The one fold from events to state.

`fold(events)` is pure: the same events in the same order give the same state, and
that is the state of the events whose groups are not undone, by the last word on
each group.  `Ledger` is the same fold kept open, so that one more event costs the
fold of that event only, and an undo the fold of the jobs it touches.

A ledger that is given an `Outline` and a source of events folds a job only when
somebody looks at it; so a long journal opens at once.
"""

from __future__ import annotations

from bisect import insort
from collections import UserList
from collections.abc import Callable, Iterable, Iterator, Mapping, MutableSequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from voicelog.errors import VoicelogError
from voicelog.jobs.changes import change
from voicelog.jobs.joining import take_in
from voicelog.jobs.records import Job, Opened, State
from voicelog.journal import events as ev

Source = Callable[[str], Iterable[ev.Event]]
"""Gives every event of a job so far, in the order in which they count; `Heard` may be left out."""


@dataclass(frozen=True)
class Opening:
    """That a job was opened."""

    place: int
    """In the order of opening, counting also jobs whose opening is undone."""
    groups: tuple[str, ...]
    """In which it was opened: one, unless journals were joined."""
    opened: Opened


def fold(events: Iterable[ev.Event]) -> State:
    """The state after all of `events`, given in the order in which they count."""
    ledger = Ledger()
    for event in events:
        ledger.add(event)
    return ledger.state


class Jobs(Mapping[str, Job]):
    """Jobs by id in order of opening; each is folded when it is first looked at.

    Looking raises `VoicelogError` where the journal is damaged.
    """

    def __init__(self, load: Callable[[str], Job | None]) -> None:
        self._load = load
        self._found: dict[str, Job | None] = {}

    def __getitem__(self, key: str) -> Job:
        found = self._found[key]
        if found is None:
            found = self._load(key)
            if found is None:
                raise VoicelogError(f"the events of job {key} cannot be found", todo="run: voicelog verify")
            self._found[key] = found
        return found

    def __contains__(self, key: object) -> bool:
        return key in self._found

    def __iter__(self) -> Iterator[str]:
        return iter(self._found)

    def __reversed__(self) -> Iterator[str]:
        return reversed(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def __repr__(self) -> str:
        return f"Jobs({list(self._found)!r})"

    def loaded(self, key: str) -> Job | None:
        """The job if it was folded already."""
        return self._found.get(key)

    def put(self, key: str, job: Job) -> None:
        """Add a job that was just opened."""
        self._found[key] = job

    def let_go(self, key: str) -> None:
        """Fold the job again when it is looked at next."""
        if key in self._found:
            self._found[key] = None

    def keep(self, keys: Iterable[str]) -> None:
        """Only these jobs are there, in this order."""
        self._found = {key: self._found.get(key) for key in keys}


@dataclass
class Outline:
    """What a ledger knows beside the records of jobs: enough to go on from."""

    opened: dict[str, Opening] = field(default_factory=dict)
    """By job id, also of jobs whose opening is undone."""
    undone: set[str] = field(default_factory=set)
    """Groups that count no longer."""
    days: list[tuple[str, str]] = field(default_factory=list)
    """(group, ISO date) of every closing of a day, in order."""
    joins: list[tuple[str, str, str]] = field(default_factory=list)
    """(group, job, the earlier job that it goes to), in order."""
    load_groups: Callable[[], dict[str, tuple[int, str]]] = dict
    load_choices: Callable[[], list[tuple[str, str]]] = list

    @cached_property
    def groups(self) -> dict[str, tuple[int, str]]:
        """Group that changed a record -> (its place, ids of its jobs joined by a space)."""
        return self.load_groups()

    @cached_property
    def choices(self) -> list[tuple[str, str]]:
        """(group, job id) of every opening and selecting of a job, in order."""
        return self.load_choices()

    def whole_of(self, job: str) -> str | None:
        """The job that another is part of: the first that it was joined to, as far as that counts."""
        found = (to for group, part, to in self.joins if part == job and group not in self.undone)
        return next(found, None)

    def counts(self, job: str) -> bool:
        """Whether the job is there: an opening of it is not undone."""
        known = self.opened.get(job)
        return known is not None and any(group not in self.undone for group in known.groups)


class LateList(UserList[str]):
    """A list that is made when it is first looked at: few commands need all that can be undone.

    Whoever changes what it is made from changes the list first.

    Args:
        make: gives it.
    """

    def __init__(self, make: Callable[[], list[str]]) -> None:
        self._make = make

    @cached_property
    def data(self) -> list[str]:  # type: ignore[override]
        """What is in it."""
        return self._make()


@dataclass
class Touched:
    """What changed since it was last cleared."""

    dents: dict[str, set[int]] = field(default_factory=dict)
    """Numbers of the dents that may have changed, by job id."""
    whole: set[str] = field(default_factory=set)
    """Jobs of which every dent may have changed."""
    groups: set[str] = field(default_factory=set)

    def add(self, job: str, dents: Iterable[int | None] = ()) -> None:
        """Some dents of a job, and what is not about a dent."""
        self.dents.setdefault(job, set()).update(dent for dent in dents if dent is not None)

    def clear(self) -> None:
        """Nothing is changed any more."""
        self.dents.clear()
        self.whole.clear()
        self.groups.clear()


class Ledger:
    """A fold that stays open for more events.

    Args:
        source: where to read a job's events again; None keeps them all in memory.
    """

    def __init__(self, source: Source | None = None) -> None:
        self._kept: dict[str, list[ev.Event]] = {}
        self._keeps = source is None
        self._source: Source = source or (lambda job: self._kept.get(job, ()))
        self._jobs = Jobs(self._folded)
        self.state = State(jobs=self._jobs)
        self.outline = Outline()
        self.touched = Touched()

    @classmethod
    def resumed(cls, source: Source, outline: Outline, state: State) -> Ledger:
        """A ledger that goes on from an outline.

        Args:
            source: as above.
            outline: as another ledger left it.
            state: everything but the jobs and what can be undone.
        """
        ledger = cls(source)
        ledger.outline = outline
        ledger.state = state
        state.jobs = ledger._jobs
        ledger._list_jobs()
        state.undoable = LateList(lambda: [group for group in outline.groups if group not in outline.undone])
        ledger._close_days()
        return ledger

    def add(self, event: ev.Event) -> None:
        """Fold one more event."""
        body = event.body
        if isinstance(body, ev.Undone | ev.Redone):
            self._turn(body.target, undone=isinstance(body, ev.Undone))
            return
        _apply_to_state(self.state, event)
        if isinstance(body, ev.RECORD_BODIES):
            self._remember(event.group, event.job or "")
        if isinstance(body, ev.DayClosed):
            self.outline.days.append((event.group, body.date))
            self._close_days()
        if event.job is None:
            return
        if isinstance(body, ev.JobOpened | ev.JobSelected):
            self.outline.choices.append((event.group, event.job))
        if isinstance(body, ev.Joined) and body.other < event.job:
            self.outline.joins.append((event.group, event.job, body.other))
        if self._keeps:
            self._kept.setdefault(event.job, []).append(event)
        self._apply_to_job(event)
        if isinstance(body, ev.JobOpened | ev.JobSelected):
            self._choose()

    def _remember(self, group: str, job: str) -> None:
        groups = self.outline.groups
        known = groups.get(group)
        if known is None:
            self.state.undoable.append(group)
            groups[group] = (len(groups), job)
            self.state.redoable.clear()
        elif job not in known[1].split():
            groups[group] = (known[0], f"{known[1]} {job}".strip())
        else:
            return
        self.touched.groups.add(group)

    def _apply_to_job(self, event: ev.Event) -> None:
        assert event.job is not None
        self.touched.add(event.job)
        opening = isinstance(event.body, ev.JobOpened)
        if opening:
            self._remember_opening(event)
        if event.group in self.outline.undone:
            return
        if opening and event.job not in self._jobs:
            self._jobs.put(event.job, _opened(event))
            self.state.opened[event.job] = self.outline.opened[event.job].opened
            if self.outline.opened[event.job].place < len(self.outline.opened) - 1:
                self._list_jobs()
        # A job that nobody looked at yet is folded with this event when somebody does.
        job = self._jobs.loaded(event.job)
        if job is None:
            self.touched.whole.add(event.job)
            return
        if isinstance(event.body, ev.Joined | ev.Struck) or job.joined_to is not None:
            self._refold(job.id)
            return
        before = _concerned(job, event.body)
        change(job, event)
        if job.renumbered or isinstance(event.body, ev.DentsOrdered):
            self.touched.whole.add(job.id)
        self.touched.add(job.id, (*before, job.open_dent))

    def _folded(self, key: str) -> Job | None:
        """The record of a job from all its events; None where its opening is undone."""
        job, events = None, self.counting(key)
        for event in events:
            if job is None and isinstance(event.body, ev.JobOpened):
                job = _opened(event)
            if job is not None:
                change(job, event)
                self._take_parts(job, key, event.body)
        if job is not None:
            job.joined_to = self.outline.whole_of(key)
        return job

    def counting(self, key: str) -> list[ev.Event]:
        """The events of a job that count: neither undone nor struck."""
        events = [event for event in self._source(key) if event.group not in self.outline.undone]
        struck = {event.body.event for event in events if isinstance(event.body, ev.Struck)}
        return [event for event in events if event.id not in struck]

    def _take_parts(self, job: Job, whole: str, body: ev.Body) -> None:
        """Take in the job that was joined to `whole`, and what was joined to that one before."""
        if not isinstance(body, ev.Joined) or body.other in job.parts:
            return
        if self.outline.whole_of(body.other) == whole:
            events = self.counting(body.other)
            take_in(job, events)
            job.parts.append(body.other)
            for event in events:
                self._take_parts(job, body.other, event.body)

    def _turn(self, target: str, *, undone: bool) -> None:
        """Undo or redo a group; one that is not known, or is so already, changes nothing."""
        groups, state = self.outline.groups, self.state
        if target not in groups or (target in self.outline.undone) == undone:
            return
        self.touched.groups.add(target)
        if undone:
            _take(state.undoable, target)
            self.outline.undone.add(target)
            state.redoable.append(target)
        else:
            _take(state.redoable, target)
            insort(state.undoable, target, key=lambda group: groups[group][0])
            self.outline.undone.discard(target)
        for job in groups[target][1].split():
            self._refold(job)
        self._choose()
        self._close_days()

    def _close_days(self) -> None:
        """The days whose closing counts."""
        self.state.days_closed = [day for group, day in self.outline.days if group not in self.outline.undone]

    def _refold(self, job: str) -> None:
        self.touched.add(job)
        self.touched.whole.add(job)
        if self.outline.counts(job) == (job in self._jobs):
            self._jobs.let_go(job)
        else:
            self._list_jobs()
        for whole in {other for _, part, other in self.outline.joins if part == job}:
            self._refold(whole)

    def _remember_opening(self, event: ev.Event) -> None:
        assert isinstance(event.body, ev.JobOpened)
        assert event.job is not None
        known = self.outline.opened.get(event.job)
        if known is None:
            opened = Opened(event.body.number, event.at)
            known = Opening(len(self.outline.opened), (), opened)
        self.outline.opened[event.job] = replace(known, groups=(*known.groups, event.group))

    def _list_jobs(self) -> None:
        """The jobs whose opening counts, in order of opening."""
        outline = self.outline
        self.state.opened = {
            job: known.opened for job, known in outline.opened.items() if outline.counts(job)
        }
        self._jobs.keep(self.state.opened)

    def rest(self, but: int) -> None:
        """Let go of all but the last `but` jobs and the current one, to keep memory flat."""
        for job in list(self._jobs)[: max(0, len(self._jobs) - but)]:
            if job != self.state.current:
                self._jobs.let_go(job)

    def _choose(self) -> None:
        """The current job: the last that was opened or selected, as far as that counts."""
        chosen = (
            job
            for group, job in reversed(self.outline.choices)
            if group not in self.outline.undone and job in self._jobs
        )
        self.state.current = next(chosen, None)


def _concerned(job: Job, body: ev.Body) -> tuple[int | None, ...]:
    """Numbers of the dents that a body may change: its own, and the one the timer runs for."""
    question = job.questions.get(body.question) if isinstance(body, ev.Answered) else None
    own = getattr(body, "dent", None) if question is None else question.dent
    return (own, job.timer.dent)


def _opened(event: ev.Event) -> Job:
    assert isinstance(event.body, ev.JobOpened)
    return Job(id=str(event.job), number=event.body.number, opened_at=event.at)


def _take(stack: MutableSequence[str], group: str) -> None:
    """Remove a group that most likely lies on top."""
    if stack and stack[-1] == group:
        stack.pop()
    elif group in stack:
        stack.remove(group)


def _apply_to_state(state: State, event: ev.Event) -> None:
    """What an event says about the journal as a whole."""
    match event.body:
        case ev.Heard(utterance=number, decision=decision, kind=kind):
            state.utterances = max(state.utterances, number)
            if kind != "none":  # Talk in the room comes between nothing.
                state.refused = decision == "rejected" and kind != "undo"
        case ev.ListeningChanged(awake=awake):
            state.awake = awake
        case _:
            pass
