"""The review desk: what was said and its dents on the left, jobs and the dent looked at on the right."""

from __future__ import annotations

import inspect
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import Resize
from textual.widgets import Footer, Static, TabbedContent, TabPane

from voicelog.board.live.total_band import standing
from voicelog.board.review.commands import COMMANDS, NEEDS_TAB, TABS, bindings, key_name
from voicelog.board.review.day_index import DayIndex, days_of, number
from voicelog.board.review.days_view import DaysView
from voicelog.board.review.dent_actions import DentActions
from voicelog.board.review.desk import DeskScreen
from voicelog.board.review.field_actions import FieldActions
from voicelog.board.review.job_actions import JobActions
from voicelog.board.review.lists import (
    DentList,
    EveryJob,
    FieldList,
    JobList,
    LineList,
    OpenList,
    QuoteList,
    UtteranceList,
    more_of,
)
from voicelog.board.review.mend_actions import MendActions
from voicelog.board.review.palette import DeskCommands
from voicelog.board.review.utterance_actions import UtteranceActions
from voicelog.board.widgets.dialogs import Show
from voicelog.board.widgets.row_list import Column, Row
from voicelog.jobs.records import Job
from voicelog.journal.events import Event

WIDE_COLUMNS = 112
"""Columns from which there is room for the list of jobs."""
ALSO = (
    ("b", "Board", "Back to the live board"),
    ("ctrl+z", "Undo", "Take the last change back"),
    ("ctrl+y", "Redo", "Bring back what was taken back"),
    ("ctrl+q", "Quit", "Close voicelog"),
)
"""Keys of the desk that are no commands of its own."""


class ReviewScreen(DeskScreen):
    """Lists that follow each other: a job's dents, a dent's fields."""

    COMMANDS = {DeskCommands}  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("b,escape", "back", "Board"),
        Binding("ctrl+q", "app.leave", "Quit"),
        Binding("question_mark", "help", "Keys"),
        *bindings("desk"),
        Binding("ctrl+z", "app.undo", "Undo"),
        Binding("ctrl+y", "app.redo", "Redo", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        parts = (FieldActions, DentActions, UtteranceActions, JobActions, MendActions)
        self._actions = tuple(part(self) for part in parts)

    def compose(self) -> ComposeResult:
        """Head, two columns, footer."""
        yield Static(id="desk-head", markup=False)
        with Horizontal(id="desk"):
            with TabbedContent(*(title for _, _, title in TABS), id="tabs", initial="utterances"):
                with TabPane("1 Said", id="utterances"):
                    yield UtteranceList(self.wording)
                    yield Static(id="said-more", markup=False)
                with TabPane("2 Dents", id="dents"):
                    yield DentList(self.wording, self.estimate)
                with TabPane("3 Price", id="price"):
                    yield LineList(self.wording)
                    yield Static(id="price-total", markup=False)
                with TabPane("4 Quotes", id="quotes"):
                    yield QuoteList(self.wording)
                with TabPane("5 Days", id="days"):
                    yield DaysView()
                with TabPane("6 ?", id="open"):
                    yield OpenList(self.wording)
                with TabPane("7 Jobs", id="every"):
                    yield EveryJob()
            with Vertical(id="desk-side"):
                yield JobList(self.wording, self.prices.of)
                yield Static(id="side-head", markup=False)
                yield FieldList(self.wording)
                yield Static(id="side-foot", markup=False)
        yield Footer(compact=True, show_command_palette=False)

    def on_mount(self) -> None:
        """Begin with the last day and the current job."""
        state = self.board.logbook.state
        days = days_of(self.board.heards.all())
        self.day = days[-1] if days else None
        self.job_id = state.current
        self.dent_number = state.job.open_dent if state.job else None
        self.show_records()
        first = self.query_one(UtteranceList)
        first.focus()
        self._follow(first.current)

    def on_resize(self, event: Resize) -> None:
        """The terminal has another size."""
        self.set_class(event.size.width < WIDE_COLUMNS, "-narrow-desk")

    def show_records(self) -> None:
        """Bring everything up to the logbook's state."""
        if not self.query(JobList):
            return
        found = self.day_index()
        if all(one.id != self.job_id for one in found.jobs):
            self.job_id = found.jobs[-1].id if found.jobs else None
        with self.prevent(JobList.Highlighted, UtteranceList.Highlighted):
            self.query_one(JobList).show(found.jobs, self.job_id)
            self.query_one(UtteranceList).follow(found)
        self._index = found
        said = self.utterance
        self.query_one("#said-more", Static).update("" if said is None else more_of(said), layout=False)
        self._show_job()
        self._show_head(found)

    def _show_head(self, found: DayIndex) -> None:
        open_text = f"{found.doubts} in doubt" if found.doubts else "nothing in doubt"
        day = found.day or "all days"
        counts = f"{_counted(len(found.jobs), 'job')} · {_counted(len(found.utterances), 'utterance')}"
        holding = f" · only “{self.holding}”" if self.holding else ""
        text = f"REVIEW  {day} · {counts} · {open_text}{holding}"
        self.query_one("#desk-head", Static).update(text, layout=False)

    def _show_job(self) -> None:
        job = self.job
        dents = [] if job is None else [*job.listed(), *(d for d in job.dents.values() if d.removed)]
        if job is not None and self.dent_number not in job.dents:
            self.dent_number = dents[0].number if dents else None
        with self.prevent(DentList.Highlighted, QuoteList.Highlighted):
            self.query_one(DentList).show(dents, self.dent_number)
            self.query_one(QuoteList).show(job.quotes if job else [])
            self.query_one(OpenList).show(self.indexes.of(job.id).doubts if job else ())
            self.query_one(LineList).follow(self.estimate())
        self._show_total(job)
        self._show_dent()
        self._show_days()
        self._show_every()

    def _show_total(self, job: Job | None) -> None:
        estimate = self.estimate()
        total = "–" if estimate is None else self.wording.range(estimate.total, estimate.currency)
        self.query_one("#price-total", Static).update(f"{standing(estimate)}  {total}", layout=False)

    def _show_dent(self) -> None:
        dent, job = self.dent, self.job
        self.query_one(FieldList).follow(dent)
        head = "no dent" if dent is None or job is None else f"{job.title} · dent {dent.number}"
        place = "" if dent is None else self.wording.place(dent.place)
        self.query_one("#side-head", Static).update(f"{head}\n{place}", layout=False)
        self.query_one("#side-foot", Static).update(self._dent_foot(), layout=False)

    def _dent_foot(self) -> str:
        dent, job, estimate = self.dent, self.job, self.estimate()
        if dent is None or job is None:
            return ""
        readings = ", ".join(self.wording.value("paint_um", found.um.value) for found in dent.readings)
        steps = ", ".join(step.step.replace("-", " ") for step in dent.steps)
        total = "–" if estimate is None else self.wording.range(estimate.total, estimate.currency)
        risks = ", ".join(self.wording.value("risk", risk) for risk in dent.risks)
        lines = (("paint", readings), ("steps", steps), ("risks", risks), ("job total", total))
        return "\n".join(f"{name}: {text}" for name, text in lines if text)

    def _show_days(self) -> None:
        if self.query_one(TabbedContent).active == "days":
            jobs = list(self.board.logbook.state.jobs.values())
            self.query_one(DaysView).follow(jobs, self.estimate, self.wording)

    def _show_every(self) -> None:
        """Every job of the journal is folded for it, so only while it is in sight."""
        if self.query_one(TabbedContent).active == "every":
            jobs = [self.indexes.of(job) for job in reversed(self.board.logbook.state.opened)]
            self.query_one(EveryJob).follow(jobs, self.holding)

    def look_at(self, job: str, dent: int | None) -> None:
        """Look at a job and one of its dents."""
        self.job_id, self.dent_number = job, dent
        with self.prevent(JobList.Highlighted):
            self.query_one(JobList).select(job)
        self._show_job()

    @on(JobList.Highlighted, "#jobs")
    def follow_job(self, event: JobList.Highlighted) -> None:
        """Another job is looked at."""
        self.look_at(event.item.id, event.item.open_dent)

    @on(DentList.Highlighted, "#dents-list")
    def follow_dent(self, event: DentList.Highlighted) -> None:
        """Another dent is looked at."""
        self.dent_number = event.item.number
        self._show_dent()

    @on(UtteranceList.Highlighted, "#utterances-list")
    def follow_utterance(self, event: UtteranceList.Highlighted) -> None:
        """The dent that an utterance wrote to is looked at."""
        self._follow(event.item)

    def _follow(self, said: Event | None) -> None:
        if said is None:
            return
        self.query_one("#said-more", Static).update(more_of(said), layout=False)
        target = self._index.targets.get(number(said))
        if target is not None and target != (self.job_id, self.dent_number):
            self.look_at(*target)
        elif said.job not in (None, self.job_id) and any(one.id == said.job for one in self._index.jobs):
            self.look_at(said.job, self.indexes.of(said.job).open_dent)

    @on(UtteranceList.Chosen, "#utterances-list, #dents-list")
    def go_to_fields(self) -> None:
        """From what was said, or from a dent, to its fields."""
        self.query_one(FieldList).focus()

    @on(EveryJob.Chosen, "#every-job")
    def open_job(self, event: EveryJob.Chosen) -> None:
        """A job of any day: its day comes into sight, then its dents."""
        found = event.item
        self.day, self.holding = found.day, ""
        self.job_id, self.dent_number = found.id, found.open_dent
        self.show_records()
        self.show_tab("dents")

    @on(OpenList.Chosen, "#open-list")
    def settle_doubt(self) -> None:
        """Enter on a question settles it."""
        self.action_do("settle_open")

    @on(FieldList.Chosen, "#fields-list")
    async def edit_field(self) -> None:
        """Enter on a field edits it."""
        await self.run_action("do('edit')")

    @on(TabbedContent.TabActivated)
    def focus_tab(self) -> None:
        """The list of the tab takes the keys."""
        self._show_days()
        self._show_every()
        pane = self.query_one(TabbedContent).active_pane
        first = next((widget for widget in pane.query("RowList")), None) if pane else None
        if first is not None and self.focused not in (self.query_one(FieldList), self.query_one(JobList)):
            first.focus()

    def show_tab(self, name: str) -> None:
        """Bring a tab to the front and give it the keys."""
        self.query_one(TabbedContent).active = name
        for found in self.query_one(f"#{name}", TabPane).query("RowList"):
            found.focus()
            break

    def action_tab(self, name: str) -> None:
        """A tab by its key."""
        self.show_tab(name)

    def action_do(self, name: str) -> None:
        """Do one of `COMMANDS`; those with a dialog run beside the screen."""
        tab = NEEDS_TAB.get(name)
        if tab is not None and self.query_one(TabbedContent).active != tab:
            self.show_tab(tab)
            self.notify("This is what it would be done to: press the key once more", timeout=4)
            return
        part = next(part for part in self._actions if hasattr(part, f"do_{name}"))
        result = getattr(part, f"do_{name}")()
        if inspect.iscoroutine(result):
            self.board.start_task(result, name.replace("_", " "))

    def action_help(self) -> None:
        """Every key, in a list that can be scrolled on any screen."""
        rows = [Row((key_name(command), command.title, command.help)) for command in COMMANDS]
        rows += [Row((key, "Tab", title)) for key, _, title in TABS]
        rows += [Row(cells) for cells in ALSO]
        columns = (Column("key", 7), Column("", 13), Column("what it does"))
        self.app.push_screen(Show("Keys", columns, rows))

    def action_back(self) -> None:
        """Back to the live board."""
        self.dismiss(None)


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
