"""Actions on an utterance: hear it again, choose what else it may have been."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from voicelog.actions import by_hand
from voicelog.board.player import play
from voicelog.board.review.day_index import DayIndex, index, number
from voicelog.board.review.dent_actions import DentActions
from voicelog.board.widgets.dialogs import Pick
from voicelog.journal.events import Event, Heard
from voicelog.journal.store import Draft
from voicelog.meaning.note import Value


class UtteranceActions(DentActions):
    """Play and alternatives."""

    def do_play(self) -> None:
        """Play the clip of the utterance in a thread of its own."""
        event = self.utterance
        said = event.body if event else None
        if not isinstance(said, Heard) or not said.clip:
            self.notify("No sound was kept of this utterance", severity="warning")
            return
        find, clip = self.board.desk.clip, said.clip
        if find is None:
            self.notify("There is no folder of clips with this journal", severity="warning")
            return
        self.board.start_work(lambda: self._play(find(clip)), "play")
        self.notify(f"Playing no. {said.utterance}", timeout=2)

    def _play(self, path: Path) -> None:
        (self.board.desk.play or play)(path)

    async def do_alternatives(self) -> None:
        """Choose what else the utterance may have been."""
        event = self.utterance
        if event is None or not isinstance(event.body, Heard):
            return
        choices = self._other_values(event) + self._other_words(event.body)
        if not choices or self.job is None or self.dent is None:
            self.notify("The engine had no alternative to this")
            return
        job, dent = self.job, self.dent

        def drafts(values: Mapping[str, Value]) -> list[Draft]:
            found = [by_hand.choose(job, dent, slot, value) for slot, value in values.items()]
            return [draft for made in found for draft in made]

        title = f"“{event.body.words}” or"
        chosen = await self.ask(Pick(title, choices, None, self.outlook(drafts)))
        if chosen is not None:
            self.commit(drafts(chosen), "Taken over")

    def _other_values(self, event: Event) -> list[tuple[str, Any]]:
        """Each possible value of each slot in doubt that this utterance wrote."""
        dent = self.dent
        if dent is None:
            return []
        doubted = [dent.fields[slot] for slot in dent.unconfirmed]
        names = dent.unconfirmed
        return [
            (f"{name.removesuffix('_mm')}: {self.wording.value(name, value)}", {name: value})
            for name, found in zip(names, doubted, strict=True)
            if found.history and found.history[-1].utterance == number(event)
            for value in found.choices
        ]

    def _other_words(self, said: Heard) -> list[tuple[str, Any]]:
        """The engine's other answers, where they can be understood as values of a dent."""
        reread = self.board.desk.reread
        if reread is None:
            return []
        found = []
        for alternative in said.alternatives:
            words = str(alternative["words"])
            values = reread(words)
            if values:
                found.append((f"{words}  ({float(alternative['confidence']):.0%})", values))
        return found

    def do_order(self) -> None:
        """Open ones first, or as they were said."""
        self.waiting_first = not self.waiting_first
        self.show_records()
        self.notify("Open ones first" if self.waiting_first else "As they were said", timeout=2)

    def show_records(self) -> None:
        """See the screen."""
        raise NotImplementedError

    def day_index(self) -> DayIndex:
        """The jobs and utterances of the day looked at."""
        state, heards = self.board.logbook.state, self.board.heards.all()
        return index(state, heards, self.day, self.indexes, waiting_first=self.waiting_first)
