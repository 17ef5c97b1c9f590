"""Actions on one field of a dent."""

from __future__ import annotations

from functools import partial

from voicelog.actions.answers import answer, settle
from voicelog.actions.change import Change
from voicelog.actions.slots import clear_slot, hand_over, set_slots
from voicelog.board.review import typed
from voicelog.board.review.desk import Actions
from voicelog.board.review.lists import OpenList, more_of
from voicelog.board.widgets.dialogs import Ask, Pick, PickMany, Show
from voicelog.board.widgets.row_list import Column, Row
from voicelog.board.words import label
from voicelog.jobs.doubts import Doubt, doubts
from voicelog.jobs.records import Dent, Job
from voicelog.meaning.note import SlotValue, Value
from voicelog.vocabulary import CHOICES, LENGTHS, LISTS


class FieldActions(Actions):
    """Edit, settle, clear, look back, give away."""

    async def do_edit(self) -> None:
        """Type or choose the value of the field looked at."""
        job, dent, slot = self.job, self.dent, self.slot
        if job is None or dent is None or slot is None:
            return
        value = await self._new_value(job, dent, slot)
        if value is None:
            return
        # An empty list says that nothing applies: that is a value to take away, not one to keep.
        change = clear_slot(self.context, dent.number, slot) if value == () else self._set(dent, slot, value)
        self.commit(change, f"{label(slot)}: {self.wording.value(slot, value)}")

    def _set(self, dent: Dent, slot: str, value: Value) -> Change:
        return set_slots(self.context, dent.number, {slot: SlotValue(value)})

    async def _new_value(self, job: Job, dent: Dent, slot: str) -> Value | None:
        title = f"Dent {dent.number}: {label(slot)}"
        current = dent.get(slot)

        def remark(value: Value) -> str:
            of_a_place = slot in ("panel", "end", "side")
            return typed.misplaced({**dent.values(), slot: value}) if of_a_place else ""

        outlook = self.outlook(lambda value: self._set(dent, slot, value), remark)
        if slot == "belongs_to":
            others = [found for found in job.listed() if found.number != dent.number]
            choices = [
                (f"dent {found.number}, {self.wording.place(found.place)}", found.number) for found in others
            ]
            return await self.ask(Pick(title, choices, current, outlook)) if choices else None
        if slot in CHOICES:
            options = [(self.wording.value(slot, choice), choice) for choice in CHOICES[slot]]
            dialog = (
                PickMany(title, options, current or (), outlook)
                if slot in LISTS
                else Pick(title, options, current, outlook)
            )
            return await self.ask(dialog)  # type: ignore[no-any-return]
        return await self._number(dent, slot, title)

    async def _number(self, dent: Dent, slot: str, title: str) -> Value | None:
        def value_of(text: str) -> Value:
            return typed.number(slot, text, self.wording)

        outlook = self.outlook(
            lambda text: self._set(dent, slot, value_of(text)),
            lambda text: typed.remark(slot, value_of(text), str(dent.get("panel") or "")),
        )
        current = dent.get(slot)
        unit = f", {self.wording.length_unit}" if slot in LENGTHS else ""
        start = "" if current is None else self.wording.value(slot, current).split(" ")[0]
        text = await self.ask(Ask(f"{title}{unit}", start, outlook))
        return None if text is None else value_of(text)

    async def do_choose(self) -> None:
        """Settle the field looked at with one of its possible values."""
        here = (self.desk.dent_number, self.slot)
        found = () if self.job is None else doubts(self.job)
        doubt = next((doubt for doubt in found if (doubt.dent, doubt.slot) == here), None)
        if doubt is None:
            self.notify("This field is not in doubt; press e to edit it")
        else:
            await self.settle(doubt)

    async def do_settle_open(self) -> None:
        """Settle what is looked at in the list of open questions."""
        doubt: Doubt | None = self.desk.query_one(OpenList).current
        if doubt is None:
            self.notify("Nothing is in doubt")
        else:
            await self.settle(doubt)

    async def settle(self, doubt: Doubt) -> None:
        """Ask which of the possible values it is."""
        choices = [(self.wording.value(doubt.slot, value), value) for value in doubt.choices]
        where = "Job" if doubt.dent is None else f"Dent {doubt.dent}"
        title = f"{where}: which {label(doubt.slot)}?{f' · {doubt.why}' if doubt.why else ''}"

        def change(value: Value) -> Change:
            if doubt.question is not None:
                return answer(self.context, doubt.question, value)
            return settle(self.context, doubt.dent, doubt.slot, value)

        said = self.desk.said(doubt)
        about = "" if said is None else more_of(said)
        play = None if said is None else partial(self.desk.play, said)
        dialog = Pick(title, choices, doubt.choices[0], self.outlook(change), about=about, play=play)
        value = await self.ask(dialog)
        if value is not None:
            self.commit(change(value), f"{label(doubt.slot)}: {self.wording.value(doubt.slot, value)}")

    def do_clear(self) -> None:
        """Take the value of the field away."""
        if self.job and self.dent and self.slot:
            self.commit(
                clear_slot(self.context, self.dent.number, self.slot),
                f"{label(self.slot)} taken away",
            )

    async def do_history(self) -> None:
        """Show every value the field had."""
        dent, slot = self.dent, self.slot
        found = dent.fields.get(slot) if dent and slot else None
        if dent is None or slot is None or found is None:
            self.notify("Nobody spoke of this field")
            return
        columns = (
            Column("at", 8),
            Column("value", 18),
            Column("how", 16),
            Column("no.", 4, right=True),
            Column("words"),
        )
        rows = [
            Row((past.at[11:19], self.wording.value(slot, past.value), f"{past.how} by {past.by}",
                 str(past.utterance or ""), past.words))
            for past in found.history
        ]  # fmt: skip
        await self.ask(Show(f"Dent {dent.number}: {label(slot)}, oldest first", columns, rows))

    async def do_hand_over(self) -> None:
        """Give the value to another dent."""
        job, dent, slot = self.job, self.dent, self.slot
        if job is None or dent is None or slot is None or slot not in dent.fields:
            self.notify("There is no value to give")
            return
        target = await self.ask(
            self.desk.pick_dent(
                job,
                dent,
                f"Give the {label(slot)} to",
                lambda other: hand_over(self.context, dent.number, [slot], other.number),
            )
        )
        if target is not None:
            self.commit(
                hand_over(self.context, dent.number, [slot], target.number),
                f"{label(slot)} given to dent {target.number}",
            )
