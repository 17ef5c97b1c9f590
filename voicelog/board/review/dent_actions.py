"""Actions on a dent as a whole."""

from __future__ import annotations

from voicelog.actions.change import Change
from voicelog.actions.dents import (
    copy_dent,
    merge_dents,
    move_dent,
    next_number,
    open_dent,
    reassign_dent,
    remove_dent,
    restore_dent,
    split_dent,
)  # fmt: skip
from voicelog.actions.paint_readings import measure
from voicelog.board.review import typed
from voicelog.board.review.desk import Actions
from voicelog.board.widgets.dialogs import Ask, Pick
from voicelog.errors import VoicelogError
from voicelog.jobs.records import Job
from voicelog.meaning.note import SlotValue


class DentActions(Actions):
    """Split, merge, move, remove, measure."""

    def do_new_dent(self) -> None:
        """Begin a dent by hand."""
        if self.job is not None:
            self.desk.dent_number = next_number(self.job)
            self.commit(open_dent(self.context), f"Dent {self.desk.dent_number} begun; press e on each field")

    async def do_split(self) -> None:
        """Make two records of one."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        count = int(dent.get("count") or 1)
        if count < 2:
            change = copy_dent(self.context, dent.number, same_place=True)
            self.commit(change, change.answer)
            return

        def change_at(text: str) -> Change:
            if not text.isdigit():
                raise VoicelogError("how many stay must be a number", todo="type a whole number")
            return split_dent(self.context, dent.number, int(text))

        text = await self.ask(
            Ask(
                f"How many of the {count} stay with dent {dent.number}?",
                str(count // 2),
                self.outlook(change_at),
            )
        )
        if text is not None:
            self.commit(change_at(text), f"Dent {dent.number} split")

    async def do_merge(self) -> None:
        """Join another record of the same dent into this one."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        title = f"Which record is also about dent {dent.number}? It is joined into it"
        number = dent.number
        other = await self.ask(
            self.desk.pick_dent(
                job, dent, title, lambda found: merge_dents(self.context, number, found.number)
            )
        )
        if other is not None:
            self.commit(
                merge_dents(self.context, number, other.number),
                f"Dent {other.number} joined into dent {number}",
            )

    def do_up(self) -> None:
        """Move the dent up the list."""
        self._move(-1)

    def do_down(self) -> None:
        """Move the dent down the list."""
        self._move(1)

    def _move(self, by: int) -> None:
        if self.job and self.dent:
            self.commit(move_dent(self.context, self.dent.number, by))

    async def do_reassign(self) -> None:
        """Move the dent to another job."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return
        others = [found for found in self.desk.board.logbook.state.jobs.values() if found.id != job.id]
        if not others:
            self.notify("There is no other job")
            return
        outlook = self.outlook(lambda found: reassign_dent(self.context, dent.number, found.id))
        choices = [(found.title, found) for found in reversed(others)]
        target: Job | None = await self.ask(
            Pick(f"Move dent {dent.number} to which job?", choices, None, outlook)
        )
        if target is not None:
            change = reassign_dent(self.context, dent.number, target.id)
            self.commit(change, change.answer)

    def do_remove(self) -> None:
        """Let the dent count no longer."""
        if self.dent is not None:
            number = self.dent.number
            self.commit(
                remove_dent(self.context, number), f"Dent {number} removed; D or ctrl+z brings it back"
            )

    def do_restore(self) -> None:
        """Let a removed dent count again."""
        if self.dent is not None:
            number = self.dent.number
            self.commit(restore_dent(self.context, number), f"Dent {number} counts again")

    async def do_measure(self) -> None:
        """Type a paint reading at the dent."""
        job, dent = self.job, self.dent
        if job is None or dent is None:
            return

        def reading(text: str) -> Change:
            um = SlotValue(typed.number("paint_um", text, self.wording))
            return measure(self.context, {"paint_um": um}, dent.number)

        def remark(text: str) -> str:
            return typed.remark("paint_um", typed.number("paint_um", text, self.wording), "")

        unit = "µm" if self.wording.units == "mm" else "mils"
        text = await self.ask(Ask(f"Paint at dent {dent.number}, {unit}", "", self.outlook(reading, remark)))
        if text is not None:
            self.commit(reading(text), f"Paint at dent {dent.number}: {text} {unit}")
