"""Answers to open questions, given as an answer or as the whole note again."""

from __future__ import annotations

from voicelog.actions.change import Desk, Plan, ask_about, refused
from voicelog.actions.contradictions import doubt_slots
from voicelog.actions.whole_note_questions import UNSURE
from voicelog.jobs.records import Question
from voicelog.journal import events as ev
from voicelog.meaning.answers import interpret_answer, offered
from voicelog.meaning.note import Note, SlotValue, Value
from voicelog.meaning.wording import say_value, slot_name
from voicelog.vocabulary import LISTS

READINGS = ("paint_um", "reference_um")
DETAILS = ("plate", "vin")


def open_question(desk: Desk) -> Question | None:
    """The question an answer goes to: the one about the open dent asked last, else the one asked last."""
    job = desk.job
    if job is None or not job.questions:
        return None
    questions = [question for question in job.questions.values() if question.slot != "note"]
    if not questions:
        return None
    here = [question for question in questions if question.dent == job.open_dent]
    return (here or questions)[-1]


def answers_question(note: Note, question: Question) -> bool:
    """Whether a note that is no answer says again just what was asked about."""
    said = (
        set(note.slots) - {"panel", "end", "side"}
        if question.slot not in ("panel", "end", "side")
        else set(note.slots)
    )
    if said != {question.slot}:
        return False
    if interpret_answer(note, question.slot, question.choices) is not None:
        return True
    # "Is that right?" is answered by what is right; a further reading is a reading of its own.
    single = len(question.choices) == 1 and question.slot not in READINGS
    return single and offered(note, question.slot) is not None


def take_answer(note: Note, desk: Desk) -> Plan | None:
    """The plan for an answer; None where no question is open."""
    question, job = open_question(desk), desk.job
    if question is None or job is None:
        return None
    value = interpret_answer(note, question.slot, question.choices)
    if value is not None:
        return _settled(question, value, note.words, desk)
    other = offered(note, question.slot)
    if other is not None:
        return _other(question, other, note, desk)
    answer = note.slots.get("answer")
    if answer is not None and answer.value == "no" and len(question.choices) == 1:
        return _dropped(question, note, desk)
    return refused(f"{question.slot}: the answer picks none of the choices", question.text)


def _settled(question: Question, value: Value, words: str, desk: Desk) -> Plan:
    """One of the choices; where the slot was not said yet, the answer fills it."""
    plan = Plan()
    assert desk.job is not None
    dent = None if question.dent is None else desk.job.dents.get(question.dent)
    filled = dent is not None and question.slot not in dent.fields and question.slot not in READINGS
    if filled and dent is not None:
        plan.add(
            ev.Noted(dent.number, {question.slot: SlotValue(_held(question.slot, value), words)}), desk.job.id
        )
    plan.add(ev.Answered(question.id, _held(question.slot, value), words), desk.job.id)
    plan.answer = f"{slot_name(question.slot)} {say_value(question.slot, value, desk.region)}"
    rest = [
        other
        for other in desk.job.questions.values()
        if other.id != question.id and other.dent == question.dent
    ]
    if rest:
        plan.question = rest[-1].text
        plan.answer = f"{plan.answer}; {plan.question}"
    return plan


def _held(slot: str, value: Value) -> Value:
    return (value,) if slot in LISTS and isinstance(value, str) else value


def _other(question: Question, value: Value, note: Note, desk: Desk) -> Plan:
    """A value that was not among the choices: the speaker knows better, but may contradict himself."""
    plan = _settled(question, value, note.words, desk)
    job, number = desk.job, question.dent
    if job is None or number not in job.dents or question.slot in READINGS:
        return plan
    said = {question.slot: SlotValue(_held(question.slot, value), note.words)}
    doubted = doubt_slots(desk, job.dents[number], number, said)
    for slot, text in doubted.texts.items():
        held = doubted.slots[slot]
        plan.add(ev.Corrected(number, {slot: held}), job.id)
        ask_about(desk, plan, job.id, number, slot, held, text)
    return plan


def _dropped(question: Question, note: Note, desk: Desk) -> Plan:
    """ "No" to the only value: it is not said any more; "no" to a note held in doubt takes all of it back."""
    if question.reason == UNSURE:
        plan = Plan(answer="taken back, say it again")
        plan.add(ev.Undone(question.id.rpartition(".")[0]), None)
        return plan
    if question.slot in READINGS:
        # A reading is never taken out of the record: it stays in doubt until it is corrected.
        name = slot_name(question.slot)
        return refused(f"{question.slot}: not right", f"say correct {name} and the reading")
    plan = Plan()
    assert desk.job is not None
    job = desk.job.id
    if question.dent is not None:
        plan.add(ev.Cleared(question.dent, question.slot), job)
    plan.add(ev.Answered(question.id, None, note.words), job)
    plan.answer = f"{slot_name(question.slot)} cleared, say it again"
    return plan
