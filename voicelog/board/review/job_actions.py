"""Actions on a job: its details, quotes, papers, and the way from one to the next."""

from __future__ import annotations

from voicelog.actions import by_hand
from voicelog.board.live.question_card import latest
from voicelog.board.review import typed
from voicelog.board.review.day_index import days_of, to_settle
from voicelog.board.review.details_form import DetailsForm
from voicelog.board.review.lists import FieldList, JobList, QuoteList
from voicelog.board.review.utterance_actions import UtteranceActions
from voicelog.board.widgets.dialogs import Ask
from voicelog.board.widgets.progress import WorkScreen
from voicelog.journal.store import Draft


class JobActions(UtteranceActions):
    """Details, quotes, papers, days."""

    async def do_details(self) -> None:
        """Type car, customer and notes."""
        job = self.job
        if job is None:
            return
        details = await self.ask(DetailsForm(job, self.wording))
        if details is not None:
            self.commit(by_hand.describe(job, details), "Saved")

    def do_next_open(self) -> None:
        """Go to the next value in doubt, from the one looked at on."""
        waiting = to_settle(self.board.logbook.state, self.day_index())
        if not waiting:
            self.notify("Nothing is in doubt")
            return
        here = (self.job_id, self.dent_number, self.slot)
        places = [(job.id, dent.number, slot) for job, dent, slot in waiting]
        at = places.index(here) + 1 if here in places else 0
        job, dent, slot = places[at % len(places)]
        self.look_at(job, dent)
        fields = self.query_one(FieldList)
        fields.select(slot)
        fields.focus()

    def do_next_job(self) -> None:
        """Go to the next job."""
        self.query_one(JobList).action_move(1)

    def do_previous_job(self) -> None:
        """Go to the job before."""
        self.query_one(JobList).action_move(-1)

    def do_earlier(self) -> None:
        """Show the day before."""
        self._turn_day(-1)

    def do_later(self) -> None:
        """Show the day after."""
        self._turn_day(1)

    def _turn_day(self, by: int) -> None:
        days = days_of(self.board.heards.all())
        if not days:
            return
        at = days.index(self.day) + by if self.day in days else len(days) - 1
        self.day = days[min(len(days) - 1, max(0, at))]
        self.show_records()

    def do_all_days(self) -> None:
        """Show every day, or the last one."""
        days = days_of(self.board.heards.all())
        self.day = None if self.day is not None or not days else days[-1]
        self.show_records()

    async def do_discount(self) -> None:
        """Give a discount on the job."""
        job = self.job
        if job is None:
            return

        def drafts(text: str) -> list[Draft]:
            return by_hand.discount(job, typed.number("discount_percent", text, self.wording))

        text = await self.ask(
            Ask(f"Discount on {job.title}, %", f"{job.discount_percent}", self.outlook(drafts))
        )
        if text is not None:
            self.commit(drafts(text), f"Discount {text} %")

    def do_drop(self) -> None:
        """Drop the question that would be answered next; what stands there stays."""
        job, question = self.job, latest(self.job)
        if job is None or question is None:
            self.notify("No question is open")
        else:
            self.commit(by_hand.answer(job, question.id, None), f"Dropped: {question.text}")

    def do_tell(self) -> None:
        """The customer was told of every risk noted."""
        if self.job:
            self.commit(by_hand.tell(self.job), "Noted: the customer was told")

    def do_finish(self) -> None:
        """Call the job finished."""
        job = self.job
        if job is not None:
            missing = self.board.desk.missing
            gaps = missing(job) if missing else ()
            if self.commit(by_hand.finish(job, gaps), "Finished") and gaps:
                self.notify("Missing: " + ", ".join(gaps), severity="warning", markup=False)

    def do_quote(self) -> None:
        """Give a quote at today's figures."""
        job, estimate = self.job, self.estimate()
        if job is None or estimate is None:
            self.notify("There is no price to quote", severity="warning")
            return
        snapshot = self.board.desk.snapshot
        data = snapshot(job, estimate) if snapshot else estimate.to_json()
        self.commit(by_hand.give_quote(job, data), f"Quote {len(job.quotes) + 1} given")
        self.show_tab("quotes")

    def do_accept(self) -> None:
        """The customer accepted the quote looked at."""
        self._settle_quote(accepted=True)

    def do_decline(self) -> None:
        """The customer declined the quote looked at."""
        self._settle_quote(accepted=False)

    def _settle_quote(self, *, accepted: bool) -> None:
        quote = self.query_one(QuoteList).current
        if self.job is None or quote is None:
            self.notify("No quote was given yet")
            return
        drafts = by_hand.settle_quote(self.job, quote.version, accepted=accepted)
        self.commit(drafts, f"Quote {quote.version} {'accepted' if accepted else 'declined'}")

    async def do_papers(self) -> None:
        """Write the papers of the job; can be stopped."""
        job, write = self.job, self.board.desk.papers
        if job is None or write is None:
            self.notify("Papers cannot be written here", severity="warning")
            return
        paths = await self.ask(WorkScreen(f"Papers of {job.title}", write(job)))
        if paths:
            self.notify("\n".join(str(path) for path in paths), title="Written", timeout=20, markup=False)

    def look_at(self, job: str, dent: int | None) -> None:
        """See the screen."""
        raise NotImplementedError

    def show_tab(self, name: str) -> None:
        """See the screen."""
        raise NotImplementedError
