"""How sure a note is as a whole, and the question when it is not sure enough.

A doubt about one slot is asked about that slot (see `change.ask_about`).  Here it is about whole
notes: the engine is unsure altogether, two different notes are as good, or a slot is in doubt whose
record cannot hold two values.  Such a note waits for its answer and changes nothing until then.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from voicelog.actions.change import NOTE, Change, Context, refused
from voicelog.actions.notes import HARMLESS, change_of
from voicelog.jobs.records import Question
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note
from voicelog.meaning.wording import spoken
from voicelog.recognition.calibration import ENGINES, calibration
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.vocabulary import DAMAGE_SLOTS, LISTS, NUMBERS

PRICED = (
    ev.DentOpened, ev.Noted, ev.Corrected, ev.Cleared, ev.DentRemoved, ev.DentRestored, ev.Measured,
    ev.Remeasured, ev.Discounted,
)  # fmt: skip
"""Bodies that a price may hang on; none of them holds anything of the customer."""
HOLDS_DOUBT = frozenset({"damage", "reading", "correction"})
"""Kinds whose records keep a value together with what else it may be."""
HELD_FROM = 0.75
"""Confidence from which a note of these kinds goes into the record at once, unconfirmed: on the tuning
recordings two pieces of talk in ten minutes reach it, and nearly half of the notes that are not sure."""
UNSURE = "not heard clearly"

Verdict = Literal["sure", "unsure", "not for us"]


def verdict(hypothesis: Hypothesis, note: Note) -> Verdict:
    """What the engine's confidence allows, by its calibration."""
    engine = hypothesis.engine.partition(" ")[0]
    if engine not in ENGINES:
        return "sure"
    limits = calibration(engine)
    if not hypothesis.words or hypothesis.for_us < limits.reject:
        return "not for us"
    return "sure" if note.sure >= limits.accept else "unsure"


def needs_asking(note: Note) -> bool:
    """Whether the note as a whole has to be asked about, whatever the engine's confidence."""
    if note.kind in HARMLESS:
        return False
    if note.troubles:
        return any(other.words != note.words for other in note.readings) and not note.troubles[0].slot
    if note.kind == "job" and {"plate", "vin", "discount_percent"} & set(note.slots):
        return False
    return note.kind not in HOLDS_DOUBT and any(in_doubt(slot) for slot in note.slots.values())


def can_be_held(hypothesis: Hypothesis, note: Note) -> bool:
    """Whether a note that is not sure may stand in the record, unconfirmed, until it is answered."""
    holds = (
        note.kind in ("damage", "reading")
        and not note.troubles
        and not note.further
        and _told_by(note) is not None
    )
    return holds and hypothesis.confidence >= HELD_FROM


def _told_by(note: Note) -> str | None:
    """The slot by which a held note is asked about: its panel, else the first that a record keeps."""
    kept = (*DAMAGE_SLOTS, "paint_um", "reference_um")
    return next((name for name in kept if name in note.slots and name not in LISTS), None)


def held(note: Note) -> Note:
    """The note with the slot by which it is asked about in doubt."""
    name = _told_by(note)
    if name is None or not note.slots[name].confirmed:
        return note
    return note.with_slot(name, replace(note.slots[name], doubt=UNSURE))


def asked_whole(change: Change, note: Note, context: Context) -> Change:
    """A held note's change with its question about all that was said, not about one slot."""
    text = f"{spoken(note, context.region)}: is that right?"
    for place, draft in enumerate(change.drafts):
        body = draft.body
        if isinstance(body, ev.Asked) and body.reason == UNSURE:
            change.question = text if change.question == body.text else change.question
            change.drafts[place] = replace(draft, body=replace(body, text=text))
    return change


def ask_which(note: Note, context: Context, reason: str) -> Change:
    """Ask for the whole note: this one or the next likely one, else whether it is right."""
    job = context.job
    if job is None:
        return refused(reason, "not sure, say it again")
    other = next((o for o in note.readings if o.words != note.words and o.kind != "none"), None)
    choices = (note.words,) if other is None else (note.words, other.words)
    changes = [change_of(context.understand(words), context) for words in choices]
    opens = any(isinstance(draft.body, ev.DentOpened) for draft in changes[0].drafts)
    text = spoken(note, context.region) or note.words
    asked = f"{text}: is that right?"
    if other is not None:
        asked = f"{text}; or {spoken(other, context.region) or other.words}?"
    change = context.change()
    for before in job.waiting:
        if before.slot == NOTE and set(before.choices) == set(choices):
            # The same was asked before: once is enough.
            change.add(ev.Answered(before.id, None), job.id)
    dent = None if opens or note.kind != "damage" else job.open_dent
    change.ask(job.id, NOTE, choices, asked, dent, reason, [_priced(made, job.id) for made in changes])
    change.reason = reason
    return change


def _priced(change: Change, job: str) -> list[ev.Body]:
    """What of a change the price of the job may hang on, without the words that were said."""
    bodies = [draft.body for draft in change.drafts if draft.job == job and isinstance(draft.body, PRICED)]
    return [_wordless(body) for body in bodies]


def _wordless(body: ev.Body) -> ev.Body:
    if isinstance(body, ev.Noted | ev.Corrected):
        return replace(body, slots={name: replace(slot, words="") for name, slot in body.slots.items()})
    return (
        replace(body, um=replace(body.um, words=""))
        if isinstance(body, ev.Measured | ev.Remeasured)
        else body
    )


def chosen_words(note: Note, question: Question, context: Context) -> str | None:
    """The words that an answer picks: yes the first, no the second, or what only one of them says.

    Empty for "no" to the only choice; None where nothing is picked.
    """
    if note.words in question.choices:
        return note.words
    answer = note.slots.get("answer")
    if note.kind == "answer" and answer is not None and "number" not in note.slots:
        if answer.value == "yes":
            return str(question.choices[0])
        return str(question.choices[1]) if len(question.choices) > 1 else ""
    fitting = [words for words in map(str, question.choices) if _says(note, context.understand(words))]
    return fitting[0] if len(fitting) == 1 else None


def _says(note: Note, choice: Note) -> bool:
    """Whether all that was said stands in a choice, be it figures alone."""
    if note.kind == "answer":
        number = note.slots.get("number")
        return number is not None and any(
            choice.slots[name].value == number.value for name in NUMBERS if name in choice.slots
        )
    said, there = note.values(), choice.values()
    return note.kind == choice.kind and bool(said) and said.items() <= there.items()
