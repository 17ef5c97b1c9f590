"""Actions on a job: its details, quotes, papers, and the way from one to the next."""

from __future__ import annotations

from voicelog.actions.answers import drop
from voicelog.actions.change import Change
from voicelog.actions.invoices import ANYWAY, issue_invoice
from voicelog.actions.jobs_and_quotes import describe, discount, finish, give_quote, settle_quote
from voicelog.actions.notes import change_of
from voicelog.actions.payments import note_payment, open_balance
from voicelog.actions.risks import tell
from voicelog.board.review import typed
from voicelog.board.review.day_index import days_of, to_settle
from voicelog.board.review.desk import Actions
from voicelog.board.review.details_form import DetailsForm
from voicelog.board.review.lists import FieldList, JobList, OpenList, QuoteList
from voicelog.board.widgets.dialogs import Ask, Pick
from voicelog.board.widgets.progress import WorkScreen
from voicelog.estimate.payers import NOUGHT
from voicelog.jobs.checklist import gap_text
from voicelog.jobs.doubts import Doubt
from voicelog.meaning.note import SlotValue


class JobActions(Actions):
    """Details, quotes, papers, days."""

    _settling: tuple[str, Doubt] | None = None
    """What `n` went to last, with the id of its job."""

    async def do_details(self) -> None:
        """Type car, customer and notes."""
        job = self.job
        if job is None:
            return
        details = await self.ask(DetailsForm(job, self.wording))
        if details is not None:
            slots = {name: SlotValue(text) for name, text in details.items()}
            self.commit(describe(self.context, slots), "Saved")

    async def do_note(self) -> None:
        """Type a note as it would be said: steps, time, risks, whatever has no key of its own."""
        job, dent = self.job, self.desk.dent_number
        if job is None:
            return
        text = await self.ask(Ask(f"A note for {job.title}" + (f", dent {dent}" if dent else "")))
        if text:
            change = change_of(self.desk.board.desk.understand(text), self.context.at(dent))
            self.commit(change, change.answer)

    def do_next_open(self) -> None:
        """Go to the next thing to settle, from the one looked at on."""
        waiting = to_settle(self.desk.day_index())
        if not waiting:
            self.notify("Nothing is in doubt")
            return
        at = waiting.index(self._settling) + 1 if self._settling in waiting else 0
        self._settling = job, doubt = waiting[at % len(waiting)]
        self.desk.look_at(job, self.desk.dent_number if doubt.dent is None else doubt.dent)
        fields = self.desk.query_one(FieldList)
        if doubt.dent is not None and doubt.slot in fields.items:
            fields.select(doubt.slot)
            fields.focus()
        else:
            self.desk.show_tab("open")
            self.desk.query_one(OpenList).select(doubt.key)

    def do_next_job(self) -> None:
        """Go to the next job."""
        self.desk.query_one(JobList).action_move(1)

    def do_previous_job(self) -> None:
        """Go to the job before."""
        self.desk.query_one(JobList).action_move(-1)

    def do_earlier(self) -> None:
        """Show the day before."""
        self._turn_day(-1)

    def do_later(self) -> None:
        """Show the day after."""
        self._turn_day(1)

    def _turn_day(self, by: int) -> None:
        days = days_of(self.desk.board.heards.all())
        if not days:
            return
        at = days.index(self.desk.day) + by if self.desk.day in days else len(days) - 1
        self.desk.day = days[min(len(days) - 1, max(0, at))]
        self.desk.show_records()

    def do_all_days(self) -> None:
        """Show every day, or the last one."""
        days = days_of(self.desk.board.heards.all())
        self.desk.day = None if self.desk.day is not None or not days else days[-1]
        self.desk.show_records()

    async def do_discount(self) -> None:
        """Give a discount on the job."""
        job = self.job
        if job is None:
            return

        def change(text: str) -> Change:
            return discount(self.context, SlotValue(typed.number("discount_percent", text, self.wording)))

        text = await self.ask(
            Ask(f"Discount on {job.title}, %", f"{job.discount_percent}", self.outlook(change))
        )
        if text is not None:
            self.commit(change(text), f"Discount {text} %")

    def do_drop(self) -> None:
        """Drop the question that would be answered next; what stands there stays."""
        open_list = self.desk.query_one(OpenList)
        looked_at = open_list.current if open_list.has_focus else next(iter(open_list.items), None)
        question = None if looked_at is None else looked_at.question
        self.commit(drop(self.context, question or ""), "Dropped; it stays in doubt")

    async def do_invoice(self) -> None:
        """Issue the invoice; what speaks against it is named and asked about."""
        change = issue_invoice(self.context)
        if change.refused and change.answer.endswith(ANYWAY):
            why = change.answer.removesuffix(f"; {ANYWAY}")
            if not await self.ask(
                Pick(f"{why}. Invoice it?", [("leave it", False), ("invoice it anyway", True)])
            ):
                return
            change = issue_invoice(self.context, sure=True)
        self.commit(change, change.answer)

    async def do_pay(self) -> None:
        """Note money that came in: how much and by what."""
        job = self.job
        if job is None:
            return
        due = max(open_balance(job), NOUGHT)

        def paid(text: str) -> Change:
            first, *rest = text.split() or [""]
            how = rest if first[:1].isdigit() else [first, *rest]
            amount = typed.number("amount", first, self.wording) if first[:1].isdigit() else None
            return note_payment(self.context, amount, " ".join(how) or "other")

        title = f"Paid for {job.title}: cash, card or transfer; a part of it with its amount before"
        text = await self.ask(Ask(title, f"{due} " if due else "", self.outlook(paid)))
        if text is not None:
            change = paid(text)
            self.commit(change, change.answer)

    async def do_find(self) -> None:
        """Show only what holds these words."""
        if not self.desk.board.logbook.state.opened:
            self.notify("Nothing was said yet")
            return
        text = await self.ask(Ask("Show only what holds (empty for all)", self.desk.holding))
        if text is not None:
            self.desk.holding = text.strip()
            self.desk.show_records()

    def do_tell(self) -> None:
        """The customer was told of every risk noted."""
        self.commit(tell(self.context), "Noted: the customer was told")

    def do_finish(self) -> None:
        """Call the job finished."""
        if self.commit(finish(self.context), "Finished") and self.job is not None and self.job.gaps:
            texts = ", ".join(gap_text(name) for name in self.job.gaps)
            self.notify(f"Missing: {texts}", severity="warning")

    def do_quote(self) -> None:
        """Give a quote at today's figures."""
        change = give_quote(self.context)
        self.commit(change, change.answer)
        self.desk.show_tab("quotes")

    def do_accept(self) -> None:
        """The customer accepted the quote looked at."""
        self._settle_quote(accepted=True)

    def do_decline(self) -> None:
        """The customer declined the quote looked at."""
        self._settle_quote(accepted=False)

    def _settle_quote(self, *, accepted: bool) -> None:
        quote = self.desk.query_one(QuoteList).current
        version = None if quote is None else quote.version
        change = settle_quote(self.context, accepted=accepted, version=version)
        self.commit(change, change.answer)

    async def do_papers(self) -> None:
        """Write the papers of the job; can be stopped."""
        job, write = self.job, self.desk.board.desk.papers
        if job is None or write is None:
            self.notify("Papers cannot be written here", severity="warning")
            return
        paths = await self.ask(WorkScreen(f"Papers of {job.title}", write(job)))
        if paths:
            names = "\n".join(path.name for path in paths)
            self.notify(names, title=f"Written to {paths[0].parent}", timeout=6)
