"""Actions on a dent as a whole."""

from __future__ import annotations

from voicelog.actions import by_hand
from voicelog.board.review import typed
from voicelog.board.review.field_actions import FieldActions
from voicelog.board.widgets.dialogs import Ask, Pick
from voicelog.errors import VoicelogError
from voicelog.jobs.records import Dent, Job
from voicelog.journal.store import Draft


class DentActions(FieldActions):
    """Split, merge, move, remove, measure."""

    def do_new_dent(self) -> None:
        """Begin a dent by hand."""
        job = self.job
        if job is not None:
            number = by_hand.next_number(job)
            self.dent_number = number
            self.commit(by_hand.add_dent(job), f"Dent {number} begun; press e on each field")

    async def do_split(self) -> None:
        """Make two records of one."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        count = int(dent.get("count") or 1)
        if count < 2:
            self.commit(
                by_hand.split(job, dent), f"Dent {by_hand.next_number(job)} is a copy of dent {dent.number}"
            )
            return

        def drafts(text: str) -> list[Draft]:
            return _split_at(job, dent, text, count)

        text = await self.ask(
            Ask(
                f"How many of the {count} stay with dent {dent.number}?",
                str(count // 2),
                self.outlook(drafts),
            )
        )
        if text is not None:
            self.commit(drafts(text), f"Dent {dent.number} split")

    async def do_merge(self) -> None:
        """Join another record of the same dent into this one."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        title = f"Which record is also about dent {dent.number}? It is joined into it"
        other = await self.ask(
            self.pick_dent(job, dent, title, lambda found: by_hand.merge(job, dent, found))
        )
        if other is not None:
            self.commit(
                by_hand.merge(job, dent, other), f"Dent {other.number} joined into dent {dent.number}"
            )

    def do_up(self) -> None:
        """Move the dent up the list."""
        self._move(-1)

    def do_down(self) -> None:
        """Move the dent down the list."""
        self._move(1)

    def _move(self, by: int) -> None:
        if self.job and self.dent:
            self.commit(by_hand.move(self.job, self.dent, by))

    async def do_reassign(self) -> None:
        """Move the dent to another job."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        others = [found for found in self.board.logbook.state.jobs.values() if found.id != job.id]
        if not others:
            self.notify("There is no other job")
            return
        outlook = self.outlook(lambda found: by_hand.reassign(job, dent, found))
        choices = [(found.title, found) for found in reversed(others)]
        target: Job | None = await self.ask(
            Pick(f"Move dent {dent.number} to which job?", choices, None, outlook)
        )
        if target is not None:
            number = by_hand.next_number(target)
            self.commit(by_hand.reassign(job, dent, target), f"Now dent {number} of {target.title}")

    def do_remove(self) -> None:
        """Let the dent count no longer; a removed one counts again."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        if dent.removed:
            self.commit(by_hand.restore(job, dent), f"Dent {dent.number} counts again")
        else:
            self.commit(
                by_hand.remove(job, dent), f"Dent {dent.number} removed; d again or ctrl+z brings it back"
            )

    async def do_measure(self) -> None:
        """Type a paint reading at the dent."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return

        def drafts(text: str) -> list[Draft]:
            return by_hand.measure(job, dent, typed.number("paint_um", text, self.wording))

        def remark(text: str) -> str:
            return typed.remark("paint_um", typed.number("paint_um", text, self.wording), "")

        text = await self.ask(Ask(f"Paint at dent {dent.number}, µm", "", self.outlook(drafts, remark)))
        if text is not None:
            self.commit(drafts(text), f"Paint at dent {dent.number}: {text} µm")


def _split_at(job: Job, dent: Dent, text: str, count: int) -> list[Draft]:
    if not text.isdigit() or not 0 < int(text) < count:
        raise VoicelogError(f"between 1 and {count - 1} dents can stay", todo="type a whole number")
    return by_hand.split(job, dent, int(text))
