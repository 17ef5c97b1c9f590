"""From a spoken or typed note to the actions: what each kind of note calls, in one place.

Nothing is decided here that the desk would have to decide too; that is in the actions.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from voicelog.actions.change import Change, Context, joined, refused
from voicelog.actions.damage_notes import take_damage
from voicelog.actions.dents import remove_dent, restore_dent, select_dent
from voicelog.actions.hail import counted_text
from voicelog.actions.invoices import credit_invoice, issue_invoice
from voicelog.actions.jobs_and_quotes import (
    close_day,
    describe,
    discount,
    find_job,
    finish,
    give_quote,
    list_jobs,
    open_job,
    select_job,
    settle_quote,
)  # fmt: skip
from voicelog.actions.joining import join_jobs
from voicelog.actions.paint_readings import READINGS, measure, remeasure
from voicelog.actions.payments import note_payment
from voicelog.actions.prices_by_hand import add_extra, price_dent, price_whole_job
from voicelog.actions.references import resolved
from voicelog.actions.replies import reply
from voicelog.actions.risks import tell
from voicelog.actions.slots import clear_slot, no_dent, set_slots
from voicelog.actions.steps_and_time import (
    acknowledge,
    keep_memo,
    keep_words,
    mark_photo,
    note_minutes,
    note_step,
    note_time,
)  # fmt: skip
from voicelog.actions.undo import strike, undo
from voicelog.journal import events as ev
from voicelog.meaning.doubt import in_doubt
from voicelog.meaning.note import Note, SlotValue
from voicelog.meaning.wording import read_back
from voicelog.vocabulary import DAMAGE_SLOTS, JOB_DETAILS, Kind

DETAILS = JOB_DETAILS

HARMLESS: frozenset[Kind] = frozenset({"question", "control", "answer", "none"})
"""Kinds that change no record, or whose doubt the answer itself shows."""


def _change_of(note: Note, context: Context) -> Change:
    """One in trouble changes nothing of the record."""
    if note.troubles and note.kind not in HARMLESS:
        trouble = note.troubles[0]
        why = f"{trouble.slot}: {trouble.reason}" if trouble.slot else trouble.reason
        return refused(why, trouble.reason)
    change = BY_KIND[note.kind](note, context)
    words = note.kept
    if note.kind == "damage" and "tool" in note.slots:  # A dent has no slot for it, a step has.
        words = (*words, str(note.slots["tool"].value))
    if words and note.kind != "none":
        kept = change.refused
        change = keep_words(context, words, into=None if kept else change)
        if kept:
            change.decision = "kept"
    if note.denied and not change.drafts and change.decision != "rejected" and note.kind == "damage":
        change.answer = f"no {read_back(note.denied, context.region)}"
    for after in note.further:
        following = context.after(change)
        change = joined(change, _change_of(resolved(after, following), following))
    return change


def change_of(note: Note, context: Context) -> Change:
    """What a note changes, whatever questions are open; counts are told with the sum of their panel."""
    change = _change_of(note, context)
    counts = any("count" in one.slots and one.kind == "damage" for one in (note, *note.further))
    if counts and not change.refused:
        change.say(counted_text(context.after(change)))
    return change


def said_instead(context: Context, kept: ev.Event, words: str) -> Change:
    """Words that were kept are taken down as these words would be; refused, they stay kept."""
    dent = getattr(kept.body, "dent", None)
    change = change_of(context.understand(words), context.at(dent))
    if not change.refused and change.decision != "kept":
        change.drafts += strike(context, kept).drafts
    return change


def _reading(note: Note, context: Context) -> Change:
    return measure(context, note.slots)


def _step(note: Note, context: Context) -> Change:
    if "step" not in note.slots:
        # Glue and tabs are for pulling; a tool alone tells no step.
        if not {"glue", "tab"} & note.slots.keys():
            return keep_words(context, (note.words,))
        note = note.with_slot("step", SlotValue("pull", note.words))
    return note_step(context, note.slots)


def _time(note: Note, context: Context) -> Change:
    if "time" not in note.slots:
        return note_minutes(context, note.slots["minutes"])
    return note_time(context, _said(note, "time"))


def _told(note: Note, context: Context) -> Change:
    return tell(context, note.slots.get("risk"))


def _undo(note: Note, context: Context) -> Change:
    return undo(context, redo=_said(note, "undo") == "redo")


def _question(note: Note, context: Context) -> Change:
    if _said(note, "question") == "jobs":
        return list_jobs(context)
    dent = int(_said(note, "dent")) if "dent" in note.slots else None
    return reply(context.at(dent), _said(note, "question"))


def _job(note: Note, context: Context) -> Change:
    """New job, plate and VIN, quotes, discount, finished, close the day."""
    for name, action in MONEY.items():
        if name in note.slots:
            return _unclear_sum(note) or action(note, context)
    details = {name: note.slots[name] for name in DETAILS if name in note.slots}
    if _said(note, "job") == "new":
        return open_job(context, details)
    if details and "discount_percent" not in note.slots:
        return describe(context, details)
    if "discount_percent" in note.slots:
        return discount(context, note.slots["discount_percent"])
    if "join" in note.slots:
        return join_jobs(context, int(_said(note, "join")), int(_said(note, "join_to")))
    for name, among in FOUND_BY.items():
        if name in note.slots:
            return find_job(context, _said(note, name), among)
    if "go_to_job" in note.slots:
        return select_job(context, int(_said(note, "go_to_job")))
    if "quote" in note.slots:
        said = _said(note, "quote")
        return give_quote(context) if said == "give" else settle_quote(context, accepted=said == "accepted")
    return finish(context) if _said(note, "job") == "finished" else close_day(context)


FOUND_BY = MappingProxyType({
    "find": ("plate",),
    "find_stock": ("stock",),
    "find_car": ("colour", "make", "model", "vehicle", "customer"),
})  # fmt: skip
"""The details by which a car is gone to."""

SUMS = ("paid", "deposit", "price", "agreed_price", "extra_amount")


def _unclear_sum(note: Note) -> Change | None:
    """A sum of money that may be another one is not taken down: it has to be said again."""
    for name in SUMS:
        held = note.slots.get(name)
        if held is not None and in_doubt(held):
            either = " or ".join(f"{value}" for value in (held.value, *held.alternatives))
            return refused(f"{name}: {held.doubt}", f"{either}? say it again, figure by figure")
    return None


def _invoice(note: Note, context: Context) -> Change:
    said = _said(note, "invoice")
    return credit_invoice(context) if said == "credit" else issue_invoice(context, sure=said == "anyway")


def _paid(note: Note, context: Context) -> Change:
    amount = note.slots.get("paid") or note.slots.get("deposit")
    how = _said(note, "by") or "other"
    return note_payment(context, None if amount is None else amount.value, how)


def _extra(note: Note, context: Context) -> Change:
    return add_extra(context, _said(note, "extra").replace("-", " "), note.slots["extra_amount"].value)


MONEY: Mapping[str, Callable[[Note, Context], Change]] = MappingProxyType({
    "invoice": _invoice,
    "paid": _paid,
    "paid_all": _paid,
    "deposit": _paid,
    "price": lambda note, context: price_dent(context, note.slots["price"].value),
    "agreed_price": lambda note, context: price_whole_job(context, note.slots["agreed_price"].value),
    "extra": _extra,
})  # fmt: skip
"""What a note about money calls, by a slot that it has."""

SELECTIONS = MappingProxyType({"go_to": select_dent, "remove": remove_dent, "restore": restore_dent})


def _correction(note: Note, context: Context) -> Change:
    """Correct or clear a value, correct a reading or a detail, select, remove and restore dents."""
    if context.job is None:
        return refused("no job is open", "there is nothing to correct yet")
    for name, action in SELECTIONS.items():
        if name in note.slots:
            return action(context, int(_said(note, name)))
    details = {name: note.slots[name] for name in DETAILS if name in note.slots}
    if details:
        return describe(context, details)
    number = context.job.open_dent if "dent" not in note.slots else int(_said(note, "dent"))
    if "number" in note.slots:
        return refused("number: nothing to correct", "which number? say length, count or paint with it")
    for name in READINGS:
        if name in note.slots:
            return remeasure(context, name, note.slots[name], number)
    if number is None:
        return no_dent(None)
    slots = {name: note.slots[name] for name in DAMAGE_SLOTS if name in note.slots}
    if "clear" in note.slots:
        change = clear_slot(context, number, _said(note, "clear"))
        return joined(change, set_slots(context, number, slots)) if slots else change
    return set_slots(context, number, slots)


def _control(note: Note, context: Context) -> Change:
    """Orders to the tool; those that leave something in the record are actions."""
    said = _said(note, "control")
    if said == "photo":
        return mark_photo(context)
    if said == "understood":
        return acknowledge(context)
    if said == "memo" and "memo" in note.slots:
        return keep_memo(context, None, _said(note, "memo"))
    answers = {"sleep": "asleep", "wake": "listening", "memo": "memo, speak now"}
    change = context.change(answers.get(said, said))
    change.control = said
    if said in ("sleep", "wake"):
        change.add(ev.ListeningChanged(said == "wake"), None)
    return change


def _answer(note: Note, context: Context) -> Change:
    return refused("no question is open", "nothing was asked")


def _none(note: Note, context: Context) -> Change:
    reason = note.troubles[0].reason if note.troubles else "not understood"
    if note.kept:
        change = keep_words(context, note.kept)
        change.decision, change.reason = "kept", reason
        return change
    return refused(reason, "not understood")


def _said(note: Note, name: str) -> str:
    return str(note.slots.get(name, SlotValue("")).value)


Action = Callable[[Note, Context], Change]
BY_KIND: Mapping[Kind, Action] = MappingProxyType({
    "damage": take_damage,
    "reading": _reading,
    "step": _step,
    "time": _time,
    "job": _job,
    "told": _told,
    "correction": _correction,
    "undo": _undo,
    "question": _question,
    "control": _control,
    "answer": _answer,
    "none": _none,
})  # fmt: skip
"""What a note of each kind calls.  An answer comes here only where no question is open."""
