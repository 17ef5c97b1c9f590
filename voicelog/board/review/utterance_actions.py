"""Actions on an utterance: hear it again, choose what else it may have been."""

from __future__ import annotations

from voicelog.actions.change import Change
from voicelog.actions.slots import hand_over, set_slots
from voicelog.board.review.day_index import number as utterance_number
from voicelog.board.review.desk import Actions
from voicelog.board.widgets.dialogs import Pick
from voicelog.jobs.records import Dent, Field
from voicelog.journal.events import Event, Heard
from voicelog.meaning.note import Slots, SlotValue
from voicelog.vocabulary import DAMAGE_SLOTS


class UtteranceActions(Actions):
    """Play and alternatives."""

    def do_play(self) -> None:
        """Play the clip of the utterance in a thread of its own."""
        self.desk.play(self.desk.utterance)

    async def do_alternatives(self) -> None:
        """Choose what else the utterance may have been; it changes the dent that the utterance wrote to."""
        event = self.desk.utterance
        if event is None or not isinstance(event.body, Heard):
            return
        job, number = self._wrote_to(event)
        if job is None or number is None:
            self.notify("This utterance wrote to no dent")
            return
        self.desk.look_at(job, number)
        choices = self._other_values(event) + self._other_words(event.body)
        if not choices:
            self.notify("The engine had no alternative to this")
            return

        def change(slots: Slots) -> Change:
            return set_slots(self.context, number, slots)

        chosen = await self.ask(Pick(f"“{event.body.words}” or", choices, None, self.outlook(change)))
        if chosen is not None:
            self.commit(change(chosen), f"Taken over into dent {number}")

    async def do_of_dent(self) -> None:
        """What was said was about another dent: its values go there."""
        event = self.desk.utterance
        job_id, number = (None, None) if event is None else self._wrote_to(event)
        if event is None or job_id is None or number is None:
            self.notify("This utterance wrote to no dent")
            return
        self.desk.look_at(job_id, number)
        if self.job is None or self.dent is None:
            return
        slots = [name for name, found in self.dent.fields.items() if _wrote(event, found)]

        def change(other: Dent) -> Change:
            return hand_over(self.context, number, slots, other.number)

        title = f"“{event.body.words}” was about"  # type: ignore[attr-defined]
        target = await self.ask(self.desk.pick_dent(self.job, self.dent, title, change))
        if target is not None:
            given = change(target)
            self.commit(given, given.answer)

    def _wrote_to(self, event: Event) -> tuple[str | None, int | None]:
        """Job and dent of an utterance."""
        return self.desk.day_index().targets.get(utterance_number(event), (None, None))

    def _other_values(self, event: Event) -> list[tuple[str, Slots]]:
        """Each possible value of each slot in doubt that this utterance wrote."""
        fields = {} if self.dent is None else {name: self.dent.fields[name] for name in self.dent.unconfirmed}
        return [
            (f"{name.removesuffix('_mm')}: {self.wording.value(name, value)}", {name: SlotValue(value)})
            for name, found in fields.items()
            if _wrote(event, found)
            for value in found.choices
        ]

    def _other_words(self, said: Heard) -> list[tuple[str, Slots]]:
        """The engine's other answers, where they can be understood as values of a dent."""
        found: list[tuple[str, Slots]] = []
        for alternative in said.alternatives:
            words = str(alternative["words"])
            note = self.desk.board.desk.understand(words)
            slots = {name: note.slots[name] for name in DAMAGE_SLOTS if name in note.slots}
            if note.kind == "damage" and slots and not note.troubles:
                found.append((f"{words}  ({float(alternative['confidence']):.0%})", slots))
        return found

    def do_order(self) -> None:
        """Open ones first, or as they were said."""
        self.desk.waiting_first = not self.desk.waiting_first
        self.desk.show_records()
        self.notify("Open ones first" if self.desk.waiting_first else "As they were said", timeout=2)


def _wrote(event: Event, field: Field) -> bool:
    """Whether the value in force is that of the utterance."""
    return bool(field.history) and field.history[-1].utterance == utterance_number(event)
