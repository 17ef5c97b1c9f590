"""What all actions of the review desk share: the selection, prices, and the way to commit."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Collection
from typing import Any

from textual.screen import Screen

from voicelog.actions.change import NO_CHANGE, Change, Context, refused
from voicelog.board.ports import Board
from voicelog.board.review.day_index import DayIndex, index, index_job, number
from voicelog.board.review.job_cache import JobCache, Prices
from voicelog.board.review.lists import FieldList, UtteranceList
from voicelog.board.widgets.dialogs import Outlook, Pick
from voicelog.board.words import Wording
from voicelog.errors import VoicelogError
from voicelog.estimate.estimate import Estimate
from voicelog.jobs.doubts import Doubt
from voicelog.jobs.records import Dent, Job
from voicelog.journal.events import Event, Heard
from voicelog.sound.player import Player


class DeskScreen(Screen[None]):
    """Holds which day, job and dent are looked at."""

    def __init__(self) -> None:
        super().__init__()
        self.job_id: str | None = None
        self.dent_number: int | None = None
        self.day: str | None = None
        self.waiting_first = True
        self.holding = ""
        """Words that the utterances shown hold."""
        logbook = self.board.logbook
        wording = self.board.settings.wording
        self.indexes = JobCache(lambda job: index_job(job, wording), lambda: logbook.state.jobs)
        self.prices = Prices(self.board.price_list, lambda: logbook.state.jobs, logbook.lock)

    @property
    def board(self) -> Board:
        """The application."""
        return self.app  # type: ignore[return-value]

    @property
    def wording(self) -> Wording:
        """How values are written."""
        return self.board.settings.wording

    @property
    def job(self) -> Job | None:
        """The job looked at."""
        return None if self.job_id is None else self.board.logbook.state.jobs.get(self.job_id)

    @property
    def dent(self) -> Dent | None:
        """The dent looked at."""
        job = self.job
        return None if job is None or self.dent_number is None else job.dents.get(self.dent_number)

    @property
    def slot(self) -> str | None:
        """The field looked at."""
        current: str | None = self.query_one(FieldList).current
        return current

    @property
    def utterance(self) -> Event | None:
        """The utterance looked at."""
        current: Event | None = self.query_one(UtteranceList).current
        return current

    def estimate(self, job: Job | None = None) -> Estimate | None:
        """The estimate of a job, by default of the one looked at."""
        looked_at = self.job_id if job is None else job.id
        known = looked_at is not None and looked_at in self.board.logbook.state.jobs
        return self.prices.of(str(looked_at)) if known else None

    def forget(self, jobs: Collection[str | None] | None) -> None:
        """These jobs changed; None where it is not known which."""
        self.prices.forget(jobs)
        self.indexes.forget(jobs)

    @property
    def context(self) -> Context:
        """What an action on the job looked at may look at."""
        return self.board.context(self.job_id)

    def commit(self, change: Change, done: str = "") -> bool:
        """Write a change, show the result, and say what was done, or why it was not."""
        self.forget({draft.job for draft in change.drafts})
        if not self.board.commit(change):
            return False
        text = change.question or done
        if text:
            self.notify(text, timeout=4, markup=False)
        return True

    def outlook(self, change: Callable[[Any], Change], remark: Callable[[Any], str] | None = None) -> Outlook:
        """What a choice would do to the total of the job; `change` may raise `VoicelogError`."""
        job = self.job

        def look(choice: Any) -> str:
            if job is None:
                return ""
            made = change(choice)
            if made.reason == NO_CHANGE:
                return made.answer
            if made.refused:
                raise VoicelogError(made.answer)
            note = f"  ? {said}" if remark and (said := remark(choice)) else ""
            after = self.context.after(made).job
            return ("" if after is None else self._moved(job, self.prices.afresh(after))) + note

        return look

    def _moved(self, job: Job, after: Estimate | None) -> str:
        before = self.estimate(job)
        if before is None or after is None:
            return ""
        now, then = (self.wording.range(found.total, found.currency) for found in (before, after))
        return f"total stays {now}" if now == then else f"total {now} → {then}"

    def said(self, doubt: Doubt) -> Event | None:
        """The utterance behind a doubt of the job looked at; None where it was typed."""
        job, heards = self.job, self.board.heards.all()
        question = None if job is None or doubt.question is None else job.questions.get(doubt.question)
        if question is not None:
            return next((event for event in reversed(heards) if event.group == question.group), None)
        holder = None if job is None else job.details if doubt.dent is None else job.dents[doubt.dent].fields
        found = None if holder is None else holder.get(doubt.slot)
        wanted = found.history[-1].utterance if found is not None and found.history else None
        return next((event for event in reversed(heards) if number(event) == wanted), None)

    def play(self, event: Event | None) -> None:
        """Play the clip of an utterance in a thread of its own."""
        said = event.body if event else None
        if not isinstance(said, Heard) or not said.clip:
            self.notify("No sound was kept of this utterance", severity="warning")
            return
        find, clip = self.board.desk.clip, said.clip
        if find is None:
            self.notify("There is no folder of clips with this journal", severity="warning")
            return
        play = self.board.desk.play or Player().play_file
        self.board.start_work(lambda: play(find(clip)), "play")
        self.notify(f"Playing no. {said.utterance}", timeout=2)

    async def ask(self, dialog: Screen[Any]) -> Any:
        """Show a dialog and wait for its result."""
        return await self.app.push_screen_wait(dialog)

    def pick_dent(self, job: Job, but: Dent, title: str, change: Callable[[Dent], Change]) -> Pick:
        """A dialog that chooses another dent of the job."""
        others = [found for found in job.listed() if found.number != but.number]
        choices = [
            (f"dent {d.number}, {self.wording.place(d.place)} {self.wording.size(d)}", d) for d in others
        ]
        return Pick(
            title,
            choices or [("there is no other dent", None)],
            None,
            self.outlook(lambda d: change(d) if d else refused("no dent", "there is no other dent")),
        )

    def day_index(self) -> DayIndex:
        """The jobs and utterances of the day looked at."""
        state, heards = self.board.logbook.state, self.board.heards.all()
        return index(
            state, heards, self.day, self.indexes, waiting_first=self.waiting_first, holding=self.holding
        )

    @abstractmethod
    def show_records(self) -> None:
        """Bring everything up to the logbook's state."""

    @abstractmethod
    def look_at(self, job: str, dent: int | None) -> None:
        """Look at a job and one of its dents."""

    @abstractmethod
    def show_tab(self, name: str) -> None:
        """Bring a tab to the front and give it the keys."""


class Actions:
    """Some of the commands of the desk: `do_NAME` for each."""

    def __init__(self, desk: DeskScreen) -> None:
        self.desk = desk

    @property
    def job(self) -> Job | None:
        """The job looked at."""
        return self.desk.job

    @property
    def dent(self) -> Dent | None:
        """The dent looked at."""
        return self.desk.dent

    @property
    def slot(self) -> str | None:
        """The field looked at."""
        return self.desk.slot

    @property
    def wording(self) -> Wording:
        """How values are written."""
        return self.desk.wording

    @property
    def context(self) -> Context:
        """What an action on the job looked at may look at."""
        return self.desk.context

    def commit(self, change: Change, done: str = "") -> bool:
        """See `DeskScreen.commit`."""
        return self.desk.commit(change, done)

    async def ask(self, dialog: Screen[Any]) -> Any:
        """See `DeskScreen.ask`."""
        return await self.desk.ask(dialog)

    def notify(self, text: str, **options: Any) -> None:
        """Say something on the desk."""
        self.desk.notify(text, markup=False, **options)

    def outlook(self, change: Callable[[Any], Change], remark: Callable[[Any], str] | None = None) -> Outlook:
        """See `DeskScreen.outlook`."""
        return self.desk.outlook(change, remark)
