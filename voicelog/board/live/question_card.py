"""The open question with its choices, large enough to read from three metres."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from voicelog.actions.change import NOTE
from voicelog.board.widgets.big_text import BigText
from voicelog.board.words import Wording, label
from voicelog.jobs.records import Question


def how_to_answer(question: Question) -> str:
    """What to say or press."""
    if question.slot == NOTE:
        return "Say yes, or say it again, or press 1." if len(question.choices) == 1 else (
            "Say it again, or press 1 or 2.")  # fmt: skip
    if len(question.choices) == 1:
        return "Say yes, no or the right value, or press 1 for yes."
    return "Say the figures, yes or no, or press 1 or 2."


class QuestionCard(Vertical):
    """Two choices side by side, or one value and a question mark; whole notes one below the other."""

    def compose(self) -> ComposeResult:
        """What it is about, the choices, the question in words."""
        yield Static(id="question-about", markup=False)
        with Horizontal(id="question-choices"):
            yield BigText(id="choice-1")
            yield Static("or", id="question-or")
            yield BigText(id="choice-2")
        yield Static(id="question-text", markup=False)

    def fit(self, letters: int, lines: int) -> None:
        """Take letters of another size; two whole notes stand in smaller ones, one below the other."""
        for text in self.query(BigText):
            text.tallest, text.most_lines = letters - self.has_class("-note"), lines

    def show(self, waiting: Sequence[Question], wording: Wording) -> None:
        """Show the first of the questions that wait, and what the others are about."""
        self.display = bool(waiting)
        if not waiting:
            return
        question, *others = waiting
        where = f"DENT {question.dent}" if question.dent else "THIS JOB"
        then = ", ".join(f"{f'dent {q.dent} ' if q.dent else ''}{label(q.slot)}" for q in others)
        rest = f" · then {then}" if then else ""
        reason = f" · {question.reason}" if question.reason else ""
        self.query_one("#question-about", Static).update(f"? {where} · {label(question.slot)}{reason}{rest}")
        self.set_class(question.slot == NOTE, "-note")
        self._show_choices([wording.value(question.slot, choice) for choice in question.choices[:2]] or ["?"])
        self.query_one("#question-text", Static).update(f"“{question.text}”  {how_to_answer(question)}")

    def _show_choices(self, texts: list[str]) -> None:
        single = len(texts) == 1
        first = f"{texts[0]}?" if single and texts[0] != "?" else texts[0]
        self.query_one("#choice-1", BigText).show(first)
        self.query_one("#choice-2", BigText).show("" if single else texts[1])
        self.query_one("#question-or").display = not single and not self.has_class("-note")
        self.query_one("#choice-2").display = not single
