"""Actions on what no field holds: times, steps, risks, readings, photos and words kept as they were."""

from __future__ import annotations

from decimal import Decimal

from voicelog.actions.change import Change
from voicelog.actions.notes import said_instead
from voicelog.actions.undo import STRIKABLE, correct_time, name_of_body, strike
from voicelog.board.review import typed
from voicelog.board.review.desk import Actions
from voicelog.board.widgets.dialogs import Ask, Pick
from voicelog.journal import events as ev


class MendActions(Actions):
    """Strike one of them, time again, make a value of words."""

    async def do_strike(self) -> None:
        """Choose one thing that was said and let it count no longer."""
        found = [event for event in reversed(self._counting()) if isinstance(event.body, STRIKABLE)]
        if self.job is None or not found:
            self.notify("There is no time, step, risk, reading, photo or memo on this job")
            return
        choices = [(self._line(event), event) for event in found]
        chosen = await self.ask(Pick(f"{self.job.title}: which one is wrong?", choices))
        if chosen is not None:
            change = strike(self.context, chosen)
            self.commit(change, change.answer)

    def _counting(self) -> list[ev.Event]:
        return [] if self.job is None else self.desk.board.logbook.counting(self.job.id)

    def _line(self, event: ev.Event) -> str:
        dent = getattr(event.body, "dent", None)
        of = f" · dent {dent}" if dent else ""
        return f"{event.at[11:16]}  {name_of_body(event.body, self.wording.region)}{of}"

    async def do_worked(self) -> None:
        """Type the minutes worked in truth."""
        job = self.job
        if job is None:
            return

        def change(text: str) -> Change:
            return correct_time(self.context, Decimal(str(typed.number("minutes", text, self.wording))))

        clock = f"{job.timer.seconds(self.desk.board.settings.now()) / 60:.0f}"
        clock = "" if clock == "0" else clock
        text = await self.ask(Ask(f"Minutes worked on {job.title}", clock, self.outlook(change)))
        if text is not None:
            made = change(text)
            self.commit(made, made.answer)

    async def do_words(self) -> None:
        """Words that were kept with the utterance looked at: a value after all, a memo, or nothing."""
        said = self.desk.utterance
        kept = [] if said is None else self._kept_with(said)
        if not kept:
            self.notify("No words were kept of this utterance")
            return
        event = kept[0]
        words = event.body.words  # type: ignore[attr-defined]
        ways = [("a value: say it in other words", "value"), ("a memo: leave it as it is", "memo"),
                ("nothing: take it away", "nothing")]  # fmt: skip
        way = await self.ask(Pick(f"“{words}” was kept. It is", ways))
        if way == "nothing":
            change = strike(self.context, event)
            self.commit(change, change.answer)
        elif way == "value":
            text = await self.ask(
                Ask("As it would be said", words, self.outlook(lambda t: self._as(event, t)))
            )
            if text:
                change = self._as(event, text)
                self.commit(change, change.answer)

    def _as(self, event: ev.Event, text: str) -> Change:
        return said_instead(self.context, event, text)

    def _kept_with(self, said: ev.Event) -> list[ev.Event]:
        job = next((e.job for e in self.desk.board.logbook.store.of_group(said.group) if e.job), None)
        if job is None:
            return []
        self.desk.look_at(job, self.desk.dent_number if job == self.desk.job_id else None)
        return [e for e in self._counting() if e.group == said.group and isinstance(e.body, ev.MemoKept)]
