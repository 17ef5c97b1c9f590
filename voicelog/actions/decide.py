"""What is done with an utterance: nothing, an answer, a question about it, or what it says."""

from __future__ import annotations

from dataclasses import replace

from voicelog.actions.answers import take_answer
from voicelog.actions.change import NOTE, Change, Context
from voicelog.actions.notes import HARMLESS, change_of
from voicelog.actions.references import resolved
from voicelog.actions.steps_and_time import note_time
from voicelog.actions.whole_note_questions import (
    UNSURE,
    ask_which,
    asked_whole,
    can_be_held,
    held,
    needs_asking,
    verdict,
)  # fmt: skip
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note, Value
from voicelog.recognition.hypothesis import Hypothesis


def decide(hypothesis: Hypothesis, note: Note, context: Context) -> tuple[Note, Change]:
    """As `_decide`; what is only asked at the review is told by its tone alone."""
    note, change = _decide(hypothesis, note, context)
    asked = [draft.body for draft in change.drafts if isinstance(draft.body, ev.Asked)]
    if context.puts_off and asked and any(body.would or body.slot != NOTE for body in asked):
        change.question, change.answer = None, change.answer or "kept for the review"
    return note, change


def _decide(hypothesis: Hypothesis, note: Note, context: Context) -> tuple[Note, Change]:
    """What an utterance changes, and the note it turned out to be.

    What is not for us changes nothing; an answer goes to the open question; what is not sure is asked
    about, or stands in the record unconfirmed; the rest is done.
    """
    judged = verdict(hypothesis, note)
    if note.kind == "none" or judged == "not for us":
        kept = note.kept if judged != "not for us" else ()
        note = Note("none", words=note.words, troubles=note.troubles, kept=kept)
        return note, change_of(note, context)
    answered = take_answer(note, context)
    if answered is not None:
        return answered
    note = _possible(resolved(_meant(note, context), context), context)
    if needs_asking(note):
        return note, ask_which(note, context, _doubt_of(note))
    if judged == "unsure" and can_be_held(hypothesis, note):
        note = held(note)
        return note, asked_whole(change_of(note, context), note, context)
    if judged == "unsure" and note.kind not in HARMLESS:
        return note, ask_which(note, context, UNSURE)
    return note, change_of(note, context)


def _meant(note: Note, context: Context) -> Note:
    """What the same words mean where nothing was asked: a lone number a length, a lone "push" a method."""
    other = next((reading for reading in note.readings if reading.words == note.words), None)
    if other is None or context.dent is None:
        return note
    return other if note.kind == "answer" or (note.kind == "step" and _is_method(context)) else note


def _possible(note: Note, context: Context) -> Note:
    """An order to the clock without the other readings that the clock cannot follow now."""
    slot = note.slots.get("time")
    if note.kind != "time" or slot is None or not _fits(context, slot.value):
        return note
    others = tuple(value for value in slot.alternatives if _fits(context, value))
    if others == slot.alternatives:
        return note
    return note.with_slot("time", replace(slot, alternatives=others, doubt=slot.doubt if others else ""))


def _fits(context: Context, action: Value) -> bool:
    return note_time(context, str(action)).decision == "accepted"


def _is_method(context: Context) -> bool:
    """Whether a lone "push" says how the open dent will be repaired, not that it was done."""
    dent, job = context.dent, context.job
    return (
        job is not None
        and dent is not None
        and "method" not in dent.fields
        and job.timer.state != "running"
        and not dent.steps
    )


def _doubt_of(note: Note) -> str:
    """Why a note as a whole is in doubt."""
    if note.troubles:
        return note.troubles[0].reason
    return next((f"{name}: {slot.doubt}" for name, slot in note.slots.items() if in_doubt(slot)), "")
