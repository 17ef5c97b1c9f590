"""The journal against a plain model, through notes, corrections, undo, redo, crashes and reopening.

The model knows nothing of the fold: it keeps the groups as tuples of words and numbers
and plays those that count from the start.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.journal.verify import verify

from .making import heard, image, redo, slot, undo

Change = tuple[Any, ...]
MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None
"""Syncing to a real disk is measured elsewhere; here many short runs count."""
LENGTHS = st.integers(5, 200)
SLOTS = st.sampled_from(["length_mm", "width_mm"])


class Model:
    """Groups of changes, and which of them count."""

    def __init__(self) -> None:
        self.groups: list[tuple[str, list[Change]]] = []
        self.undone: list[str] = []
        self.can_redo: list[str] = []

    def did(self, group: str, *changes: Change) -> None:
        self.groups.append((group, list(changes)))
        self.can_redo = []

    def counting(self) -> list[str]:
        return [group for group, _ in self.groups if group not in self.undone]

    def undo(self) -> str | None:
        counting = self.counting()
        if not counting:
            return None
        self.undone.append(counting[-1])
        self.can_redo.append(counting[-1])
        return counting[-1]

    def redo(self) -> str | None:
        if not self.can_redo:
            return None
        group = self.can_redo.pop()
        self.undone.remove(group)
        return group

    def jobs(self) -> tuple[dict[str, dict[int, dict[str, Any]]], str | None]:
        """({job: {dent: {"removed": bool, slot: [values so far]}}}, current job)."""
        jobs: dict[str, dict[int, dict[str, Any]]] = {}
        current = None
        for group, changes in self.groups:
            if group in self.undone:
                continue
            for what, job, *rest in changes:
                if what == "job":
                    jobs[job] = {}
                    current = job
                elif job in jobs:
                    _play(jobs[job], what, rest)
        return jobs, current


def _play(dents: dict[int, dict[str, Any]], what: str, rest: list[Any]) -> None:
    number = rest[0]
    if what == "dent":
        dents[number] = {"removed": False}
    elif number not in dents:
        return
    elif what == "set":
        dents[number].setdefault(rest[1], []).append(rest[2])
    elif what == "clear":
        if dents[number].get(rest[1], [None])[-1] is not None:
            dents[number][rest[1]].append(None)
    else:
        dents[number]["removed"] = what == "remove"


class Machine(RuleBasedStateMachine):
    """Does to the journal what a day does, and to the model the same."""

    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="voicelog-machine-", dir=MEMORY))
        self.path = self.folder / "start" / "day.journal"
        self.log = Logbook.open(self.path)
        self.beside = self.log.beside()
        self.model = Model()
        self.next_dent: dict[str, int] = {}
        self.copies = 0

    def teardown(self) -> None:
        if hasattr(self, "log"):
            report = verify(self.path, JobViews, kept=self.folder / "kept")
            self.log.close()
            shutil.rmtree(self.folder)
            assert report.ok, report.problems

    def job(self) -> str | None:
        return self.model.jobs()[1]

    def commit(self, job: str, changes: list[Change], *bodies: ev.Body) -> None:
        number = self.log.state.utterances + 1
        group = self.log.new_group()
        drafts = [Draft(heard(number), job), *(Draft(body, job, {"utterance": number}) for body in bodies)]
        self.log.commit(drafts, group)
        self.model.did(group, *changes)

    @rule()
    def open_job(self) -> None:
        group = self.log.new_group()
        self.log.commit([Draft(ev.JobOpened(len(self.log.state.jobs) + 1))], group)
        self.model.did(group, ("job", group))
        self.next_dent[group] = 1

    @precondition(lambda self: self.job() is not None)
    @rule(length=LENGTHS)
    def note(self, length: int) -> None:
        job = self.job()
        assert job is not None
        dent = self.next_dent[job]
        self.next_dent[job] += 1
        changes = [("dent", job, dent), ("set", job, dent, "length_mm", length)]
        self.commit(job, changes, ev.DentOpened(dent), ev.Noted(dent, {"length_mm": slot(length)}))

    def some_dent(self, data: st.DataObject) -> tuple[str, int] | None:
        job = self.job()
        dents = [] if job is None else list(self.model.jobs()[0][job])
        return (str(job), data.draw(st.sampled_from(dents))) if dents else None

    @rule(data=st.data(), name=SLOTS, length=LENGTHS)
    def correct(self, data: st.DataObject, name: str, length: int) -> None:
        found = self.some_dent(data)
        if found is not None:
            body = ev.Corrected(found[1], {name: slot(length)})
            self.commit(found[0], [("set", *found, name, length)], body)

    @rule(data=st.data(), name=SLOTS)
    def clear(self, data: st.DataObject, name: str) -> None:
        found = self.some_dent(data)
        if found is not None:
            self.commit(found[0], [("clear", *found, name)], ev.Cleared(found[1], name))

    @rule(data=st.data(), back=st.booleans())
    def remove(self, data: st.DataObject, back: bool) -> None:
        found = self.some_dent(data)
        if found is not None:
            body = ev.DentRestored(found[1]) if back else ev.DentRemoved(found[1])
            self.commit(found[0], [("restore" if back else "remove", *found)], body)

    @rule(length=LENGTHS)
    def over_two_jobs(self, length: int) -> None:
        """One utterance that changes the job before and opens the next ("new job" stops the timer)."""
        before, group = self.job(), self.log.new_group()
        drafts = [Draft(ev.JobOpened(len(self.log.state.jobs) + 1))]
        changes: list[Change] = [("job", group)]
        if before is not None:
            dent = self.next_dent[before]
            self.next_dent[before] += 1
            drafts = [Draft(ev.DentOpened(dent), before), *drafts]
            changes = [("dent", before, dent), *changes]
        self.log.commit(drafts, group)
        self.model.did(group, *changes)
        self.next_dent[group] = 1

    @rule()
    def undo(self) -> None:
        assert undo(self.log) == self.model.undo()

    @rule()
    def redo(self) -> None:
        assert redo(self.log) == self.model.redo()

    @rule()
    def look(self) -> None:
        """Verify goes on from the last time, and sees the same as from the first event on."""
        assert verify(self.path, JobViews, kept=self.folder / "kept").problems == []

    @rule()
    def reopen(self) -> None:
        self.log.close()
        self.log = Logbook.open(self.path)
        self.beside = self.log.beside()

    @rule()
    def crash(self) -> None:
        """Go on from what the process would have left on disk."""
        self.copies += 1
        self.path = image(self.path, self.folder / f"copy{self.copies}")
        self.log.close()
        self.log = Logbook.open(self.path)
        self.beside = self.log.beside()

    @invariant()
    def same_as_the_model(self) -> None:
        if not hasattr(self, "log"):
            return
        jobs, current = self.model.jobs()
        state = self.log.state
        assert state.current == current
        assert list(state.jobs) == list(jobs)
        assert state.undoable == self.model.counting()
        assert state.redoable == self.model.can_redo
        for job, dents in jobs.items():
            assert {n: _told(dent) for n, dent in state.jobs[job].dents.items()} == dents

    @invariant()
    def same_as_the_fold(self) -> None:
        if not hasattr(self, "log"):
            return
        whole = fold(self.log.events())
        assert self.log.state == whole
        self.beside.refresh()
        assert self.beside.state == whole
        reader = Logbook.open(self.path, writer=False)
        assert reader.state == whole
        reader.close()


def _told(dent: Any) -> dict[str, Any]:
    """A dent in the terms of the model."""
    histories = {name: found.history for name, found in dent.fields.items()} | dent.cleared
    told = {name: [past.value for past in history] for name, history in histories.items()}
    return {"removed": dent.removed, **told}


TestMachine = Machine.TestCase
TestMachine.settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
