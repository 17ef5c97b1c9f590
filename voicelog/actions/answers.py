"""Answers to the open question, given as an answer, as what was asked about said again, or at the desk.

The open question is `Job.question`: the one that was heard last, that is shown, and that the next
answer goes to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from voicelog.actions.change import NOTE, Change, Context, ask_about, joined, refused
from voicelog.actions.contradictions import doubt_slots
from voicelog.actions.jobs_and_quotes import describe, over_limit, too_much
from voicelog.actions.notes import change_of
from voicelog.actions.paint_readings import READINGS
from voicelog.actions.slots import PLACE, set_slots
from voicelog.actions.whole_note_questions import UNSURE, chosen_words
from voicelog.jobs.records import Job, Question
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.answers import interpret_answer, offered
from voicelog.meaning.note import Note, SlotValue, Value
from voicelog.meaning.wording import say_value, slot_name
from voicelog.vocabulary import LISTS


def take_answer(note: Note, context: Context) -> tuple[Note, Change] | None:
    """What an answer to the open question changes, and the note it is; None where it is no answer to it."""
    job = context.job
    waiting = [] if job is None else job.waiting
    question = next((q for q in waiting if not context.puts_off or q.by_state), None)
    if question is None:
        return None
    if question.slot == NOTE:
        return _take_words(note, question, context)
    if note.kind != "answer" and not _says_again(note, question, context):
        return None
    change = _change_by(note, question, context)
    return None if change is None else (replace(note, kind="answer"), change)


def _take_words(note: Note, question: Question, context: Context) -> tuple[Note, Change] | None:
    """An answer to a question about a whole note: it is that note from then on."""
    words = chosen_words(note, question, context)
    if words is None:
        return (note, ask_again(question, "the answer picks neither")) if note.kind == "answer" else None
    change = answer(context, question.id, words) if words else drop(context, question.id)
    return (note if note.kind == "answer" else context.understand(words)), change


def _says_again(note: Note, question: Question, context: Context) -> bool:
    """Whether a note that is no answer says again just what was asked about, of the same dent."""
    of_place = question.slot in PLACE
    if (set(note.slots) if of_place else set(note.slots) - set(PLACE)) != {question.slot}:
        return False
    if not _means_dent(note, question, context):
        return False
    if interpret_answer(note, question.slot, question.choices) is not None:
        return True
    # "Is that right?" is answered by what is right; a further reading is a reading of its own.
    single = len(question.choices) == 1 and question.slot not in READINGS
    return single and offered(note, question.slot) is not None


def _means_dent(note: Note, question: Question, context: Context) -> bool:
    """Whether a note may speak of the question's dent: named by its place, open, or just asked about."""
    there = context.find(question.dent)
    place = {name: note.slots[name].value for name in PLACE if name in note.slots and name != question.slot}
    if there is None or not place:
        just_asked = context.state.undoable[-1:] == [question.group]
        return question.dent is None or context.dent is there or just_asked
    return all(there.get(name) in (None, value) for name, value in place.items())


def _change_by(note: Note, question: Question, context: Context) -> Change | None:
    """What an answer settles; None where its figures are for something else."""
    value = interpret_answer(note, question.slot, question.choices)
    if value is not None:
        return answer(context, question.id, value)
    other = offered(note, question.slot)
    if note.kind == "answer" and _is_cut_short(other, question.choices):
        return ask_again(question, f"{question.slot}: the answer may have been cut short")
    if other is not None and _means_dent(note, question, context):
        return answer(context, question.id, other)
    said = note.slots.get("answer")
    if said is not None and said.value == "no" and len(question.choices) == 1 and "number" not in note.slots:
        return deny(context, question.id)
    if "number" in note.slots and _length_is_open(context):
        return None
    return ask_again(question, f"{question.slot}: the answer picks none of the choices")


def _is_cut_short(said: Value | None, choices: Sequence[Value]) -> bool:
    """Whether lone figures are the first ones of one of several choices: "one" of "one five"."""
    figures = {str(choice) for choice in choices}
    return (
        said is not None
        and len(figures) > 1
        and any(f != str(said) and f.startswith(str(said)) for f in figures)
    )


def _length_is_open(context: Context) -> bool:
    """Whether a lone number may be the length of the open dent, as far as the record tells."""
    dent = context.dent
    return dent is not None and ("length_mm" not in dent.fields or not dent.fields["length_mm"].confirmed)


def ask_again(question: Question, reason: str) -> Change:
    """The question stays open and is heard again."""
    return Change("asked", answer=question.text, question=question.text, reason=reason)


def answer(context: Context, question: str, value: Value) -> Change:
    """Settle an open question, by its id, with one of its choices or with what is right."""
    job = context.job
    open_one = None if job is None else job.questions.get(question)
    if job is None or open_one is None:
        return refused("no question is open", "nothing was asked")
    if open_one.slot == NOTE:
        return _note_chosen(context, open_one, str(value))
    if open_one.slot == "discount_percent" and over_limit(context, value):
        return too_much(context)
    change = context.change(_settled_text(open_one, value, context, job))
    if open_one.slot in LISTS and isinstance(value, str):
        value = (value,)
    change.add(ev.Answered(question, value, context.words), job.id)
    if value not in open_one.choices:
        _doubt_other(context, change, open_one, value, job)
    return _then_ask(change, open_one, context)


def _note_chosen(context: Context, question: Question, words: str) -> Change:
    assert context.job is not None
    note = context.understand(words)
    if note.kind == "none":
        return refused("not understood", f"that cannot be taken down any more: {words}")
    answered = context.change()
    answered.add(ev.Answered(question.id, words, context.words), context.job.id)
    settled = replace(context.after(answered).at(question.dent), sure=question.by_state)
    change = joined(answered, change_of(note, settled))
    change.kind = note.kind
    return change if change.question else _then_ask(change, question, context)


def _settled_text(question: Question, value: Value, context: Context, job: Job) -> str:
    where = "" if question.dent in (None, job.open_dent) else f"dent {question.dent}, "
    return f"{where}{slot_name(question.slot)} {say_value(question.slot, value, context.region)}"


def _doubt_other(context: Context, change: Change, question: Question, value: Value, job: Job) -> None:
    """A value that was not among the choices: the speaker knows better, but may contradict himself."""
    number = question.dent
    if number not in job.dents or question.slot in READINGS or number is None:
        return
    said = {question.slot: SlotValue(value, context.words)}
    doubted = doubt_slots(context, job.dents[number], number, said)
    for slot, text in doubted.texts.items():
        held = doubted.slots[slot]
        change.add(ev.Corrected(number, {slot: held}), job.id)
        ask_about(context, change, job.id, number, slot, held, text)


def _then_ask(change: Change, settled: Question, context: Context) -> Change:
    """The question that is open after the change is heard at once."""
    job = context.after(change).job
    rest = None if job is None else job.question
    if job is not None and rest is not None and change.question is None and not context.puts_off:
        where = "" if rest.dent in (None, settled.dent, job.open_dent) else f"dent {rest.dent}, "
        change.question = f"{where}{rest.text}"
        change.answer = f"{change.answer}; {change.question}"
    return change


def deny(context: Context, question: str) -> Change:
    """The only value offered is not right: it is not said any more; a note held in doubt is taken back."""
    job = context.job
    open_one = None if job is None else job.questions.get(question)
    if job is None or open_one is None:
        return refused("no question is open", "nothing was asked")
    if open_one.slot == NOTE:
        return drop(context, question)
    if open_one.reason == UNSURE:
        change = context.change("taken back, say it again")
        change.add(ev.Undone(question.rpartition(".")[0]), None)
        return change
    name = slot_name(open_one.slot)
    if open_one.slot in READINGS:
        # A reading is never taken out of the record: it stays in doubt until it is corrected.
        text = f"say correct {name} and the reading"
        return ask_again(replace(open_one, text=text), f"{open_one.slot}: not right")
    change = context.change(f"{name} cleared, say it again")
    if open_one.dent is not None:
        change.add(ev.Cleared(open_one.dent, open_one.slot), job.id)
    change.drafts.append(_answered(context, open_one, None))
    return change


def drop(context: Context, question: str) -> Change:
    """Let a question go: what stands there stays, in doubt; a note that waited for it is not taken down."""
    job = context.job
    open_one = None if job is None else job.questions.get(question)
    if job is None or open_one is None:
        return refused("no question is open", "no question is open")
    if open_one.slot in READINGS:
        return refused(
            "a reading stays in question", "a reading in doubt has to be settled: choose, or measure again"
        )
    again = "dropped, say it again" if open_one.slot == NOTE else f"dropped: {open_one.text}"
    change = context.change("left as it is" if open_one.by_state else again)
    change.drafts.append(_answered(context, open_one, None))
    return _then_ask(change, open_one, context)


def settle(context: Context, dent: int | None, slot: str, value: Value) -> Change:
    """Settle a slot in doubt, of a dent or of the job; where a question is open about it, answer that."""
    job = context.job
    for question in [] if job is None else job.waiting:
        if (question.dent, question.slot) == (dent, slot):
            return answer(context, question.id, value)
    said = {slot: SlotValue(value)}
    return describe(context, said) if dent is None else set_slots(context, dent, said)


def _answered(context: Context, question: Question, value: Value | None) -> Draft:
    change = context.change()
    assert context.job is not None
    change.add(ev.Answered(question.id, value, context.words), context.job.id)
    return change.drafts[0]
