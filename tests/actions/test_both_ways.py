"""Every action by voice and by hand: the same record, and the same events but for who made them.

Each row says what was said before, how the action is said, and how the desk calls it.  An action
without a row fails `test_every_action_has_a_row`; one that has only one side says why.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest

import voicelog.actions
from tests.actions.conftest import Talk, new_talk
from voicelog.actions.answers import answer, deny, drop, settle
from voicelog.actions.change import Change, Context
from voicelog.actions.dents import (
    copy_dent,
    merge_dents,
    move_dent,
    open_dent,
    reassign_dent,
    remove_dent,
    restore_dent,
    select_dent,
    split_dent,
)  # fmt: skip
from voicelog.actions.hail import copy_panel, finish_panel
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
from voicelog.actions.notes import change_of, said_instead
from voicelog.actions.paint_readings import measure, remeasure
from voicelog.actions.payments import note_payment
from voicelog.actions.prices_by_hand import add_extra, price_dent, price_whole_job, remove_extra
from voicelog.actions.replies import reply
from voicelog.actions.risks import note_risks, tell
from voicelog.actions.slots import clear_slot, hand_over, set_slots
from voicelog.actions.steps_and_time import (
    acknowledge,
    keep_memo,
    keep_words,
    mark_photo,
    note_minutes,
    note_step,
    note_time,
)  # fmt: skip
from voicelog.actions.undo import correct_time, strike, undo
from voicelog.journal import events as ev
from voicelog.meaning.note import Note, SlotValue

Action = Callable[..., Change]


def slots(**values: Any) -> dict[str, SlotValue]:
    """Slot values by name."""
    return {name: SlotValue(value) for name, value in values.items()}


@dataclass(frozen=True)
class Row:
    """One action said and done by hand."""

    action: Action
    before: tuple[str, ...]
    """What was said before, or "~ 0.6 words | others 0.3" as an unsure engine hears it."""
    said: str | Note
    by_hand: Callable[[Context], Change]
    refused: bool = False
    """Whether both sides refuse it."""


ROOF = "roof steel thirty mil shallow open access push"
WING = "left wing steel twenty mil"
ASKED = "left a pillar nine hundred mil"
QUOTED = (ROOF, "give quote")
PLATE = "plate alfa bravo one two charlie delta echo"
TWIN = (f"new job {PLATE}", "new job")
FULL = slots(panel="roof", material="steel", length_mm=30, depth="shallow", access="open", method="push")


def question(context: Context) -> str:
    """The id of the open question."""
    assert context.job is not None
    assert context.job.question is not None
    return context.job.question.id


ROWS = (
    Row(open_dent, ("new job",), ROOF, lambda c: open_dent(c, FULL)),
    Row(open_dent, (), ROOF, lambda c: open_dent(c, FULL)),
    Row(open_dent, ("new job",), "wing ten mil", lambda c: open_dent(c, slots(panel="wing", length_mm=10))),
    Row(open_dent, ("new job",), "left a pillar nine hundred mil",
        lambda c: open_dent(c, slots(panel="pillar-a", side="left", length_mm=900))),
    Row(finish_panel, ("roof forty at ten six at twenty",), "roof done",
        lambda c: finish_panel(c, ("roof", None, None))),
    Row(finish_panel, ("new job",), "roof done",
        lambda c: finish_panel(c, ("roof", None, None)), refused=True),
    Row(copy_panel, ("left roof rail forty at ten six at twenty",), "same on the other side", copy_panel),
    Row(copy_panel, ("roof forty at ten",), "same on the other side", copy_panel, refused=True),
    Row(copy_dent, (WING,), "same again", lambda c: copy_dent(c, 1)),
    Row(copy_dent, (WING,), "same again thirty mil", lambda c: copy_dent(c, 1, slots(length_mm=30))),
    Row(copy_dent, ("new job",), "same again", lambda c: copy_dent(c, 1), refused=True),
    Row(select_dent, (ROOF, WING), "go to dent one", lambda c: select_dent(c, 1)),
    Row(select_dent, (ROOF, WING), "go to dent seven", lambda c: select_dent(c, 7), refused=True),
    Row(select_dent, (ROOF, WING, "remove dent one"), "go to dent one", lambda c: select_dent(c, 1),
        refused=True),
    Row(remove_dent, (ROOF, WING), "remove dent one", lambda c: remove_dent(c, 1)),
    Row(remove_dent, (ROOF, "remove dent one"), "remove dent one", lambda c: remove_dent(c, 1), refused=True),
    Row(restore_dent, (ROOF, "remove dent one"), "restore dent one", lambda c: restore_dent(c, 1)),
    Row(restore_dent, (ROOF,), "restore dent one", lambda c: restore_dent(c, 1), refused=True),
    Row(set_slots, (ROOF,), "correct length fifty mil", lambda c: set_slots(c, 1, slots(length_mm=50))),
    Row(set_slots, (ROOF,), "correct width twelve mil", lambda c: set_slots(c, 1, slots(width_mm=12))),
    Row(set_slots, (ROOF,), "correct length thirty mil", lambda c: set_slots(c, 1, slots(length_mm=30)),
        refused=True),
    Row(set_slots, ("left a pillar ten mil",), "correct length nine hundred mil",
        lambda c: set_slots(c, 1, slots(length_mm=900))),
    Row(set_slots, (ROOF, "paint one two zero magnetic probe"), "correct material aluminium",
        lambda c: set_slots(c, 1, slots(material="aluminium"))),
    Row(clear_slot, (ROOF,), "clear depth", lambda c: clear_slot(c, 1, "depth")),
    Row(clear_slot, (ROOF,), "clear width", lambda c: clear_slot(c, 1, "width_mm"), refused=True),
    Row(measure, (ROOF,), "paint one four two", lambda c: measure(c, slots(paint_um=142), 1)),
    Row(measure, (ROOF,), "paint one four two magnetic probe",
        lambda c: measure(c, slots(paint_um=142, probe="magnetic"), 1)),
    Row(measure, ("roof aluminium",), "paint one four two magnetic probe",
        lambda c: measure(c, slots(paint_um=142, probe="magnetic"), 1)),
    Row(measure, (ROOF,), "reference one three eight", lambda c: measure(c, slots(reference_um=138))),
    Row(measure, (ROOF,), "paint nine nine nine nine", lambda c: measure(c, slots(paint_um=9999), 1)),
    Row(remeasure, (ROOF, "paint one four two"), "correct paint one two four",
        lambda c: remeasure(c, "paint_um", SlotValue(124), 1)),
    Row(remeasure, (ROOF, "reference one four two"), "correct reference one two four",
        lambda c: remeasure(c, "reference_um", SlotValue(124))),
    Row(remeasure, (ROOF,), "correct paint one two four",
        lambda c: remeasure(c, "paint_um", SlotValue(124), 1), refused=True),
    Row(note_risks, (ROOF,), "crease may show", lambda c: note_risks(c, SlotValue(("crease-may-show",)), 1)),
    Row(tell, (ROOF, "crease may show"), "customer told", tell),
    Row(tell, (ROOF, "crease may show", "customer told", "paint may lift"), "customer told", tell),
    Row(tell, (ROOF, "crease may show", "customer told"), "customer told", tell, refused=True),
    Row(tell, (ROOF,), "customer told", tell, refused=True),
    Row(note_step, (ROOF,), "pull three times", lambda c: note_step(c, slots(step="pull", pulls=3), 1)),
    Row(note_step, ("roof steel thirty mil paint broken",), "pull three times",
        lambda c: note_step(c, slots(step="pull", pulls=3), 1)),
    Row(note_time, (ROOF,), "start work", lambda c: note_time(c, "start")),
    Row(note_time, (ROOF, "start work"), "start work", lambda c: note_time(c, "start")),
    Row(note_time, (ROOF,), "stop work", lambda c: note_time(c, "stop")),
    Row(note_time, (), "stop work", lambda c: note_time(c, "stop"), refused=True),
    Row(note_time, (ROOF, "start work", "start work"), "stop work", lambda c: note_time(c, "stop")),
    Row(answer, (ROOF, "start work", "start work"), "yes", lambda c: answer(c, question(c), "start work")),
    Row(answer, (ROOF, "start work", "start work"), "no", lambda c: deny(c, question(c))),
    Row(note_time, (ROOF, "start work"), "pause work", lambda c: note_time(c, "pause")),
    Row(mark_photo, (ROOF,), "photo", mark_photo),
    Row(acknowledge, (ROOF, "warm"), "understood", acknowledge),
    Row(acknowledge, (ROOF,), "understood", acknowledge, refused=True),
    Row(open_job, (), "new job", open_job),
    Row(open_job, (ROOF,), "new job plate alfa bravo one two charlie delta echo",
        lambda c: open_job(c, slots(plate="AB12CDE"))),
    Row(open_job, (ROOF, "start work"), "new job", open_job),
    Row(open_job, TWIN, f"new job {PLATE}", lambda c: open_job(c, slots(plate="AB12CDE"))),
    Row(close_day, (ROOF, "start work"), "close the day", close_day),
    Row(select_job, (ROOF, "new job"), Note("job", slots(go_to_job=1)), lambda c: select_job(c, 1)),
    Row(select_job, (ROOF,), Note("job", slots(go_to_job=7)), lambda c: select_job(c, 7), refused=True),
    Row(describe, (ROOF,), "plate alfa bravo one two charlie delta echo",
        lambda c: describe(c, slots(plate="AB12CDE"))),
    Row(describe, ("new job plate alfa bravo one two charlie delta echo",),
        "plate alfa bravo one two charlie delta echo", lambda c: describe(c, slots(plate="AB12CDE")),
        refused=True),
    Row(describe, TWIN, PLATE, lambda c: describe(c, slots(plate="AB12CDE"))),
    Row(answer, (*TWIN, PLATE), "yes", lambda c: answer(c, question(c), "go to job one")),
    Row(deny, (*TWIN, PLATE), "no", lambda c: deny(c, question(c))),
    Row(finish, (ROOF,), "job finished", finish),
    Row(finish, (ROOF, "job finished"), "job finished", finish, refused=True),
    Row(finish, (ROOF, "start work"), "job finished", finish),
    Row(answer, (ROOF, "start work", "job finished"), "yes",
        lambda c: answer(c, question(c), "job finished")),
    Row(close_day, (ROOF,), "close the day", close_day),
    Row(discount, (ROOF,), "discount ten percent", lambda c: discount(c, SlotValue(10))),
    Row(discount, (ROOF,), "discount ninety percent", lambda c: discount(c, SlotValue(90)), refused=True),
    Row(give_quote, (ROOF,), "give quote", give_quote),
    Row(give_quote, (*QUOTED, "quote accepted", WING), "give quote", give_quote),
    Row(give_quote, (*QUOTED, "quote accepted"), "give quote", give_quote, refused=True),
    Row(settle_quote, QUOTED, "quote accepted", lambda c: settle_quote(c, accepted=True)),
    Row(settle_quote, QUOTED, "quote declined", lambda c: settle_quote(c, accepted=False)),
    Row(settle_quote, (*QUOTED, "quote accepted"), "quote accepted", lambda c: settle_quote(c, accepted=True),
        refused=True),
    Row(answer, ("wing ten mil",), "left", lambda c: answer(c, question(c), "left")),
    Row(answer, (ASKED,), "yes", lambda c: answer(c, question(c), 900)),
    Row(answer, (ASKED,), "nine zero", lambda c: answer(c, question(c), 90)),
    Row(answer, (ROOF, "fifty mil"), "five zero", lambda c: answer(c, question(c), 50)),
    Row(answer, (ROOF, "~ 0.5 bonnet ten mil"), "yes", lambda c: answer(c, question(c), "bonnet ten mil")),
    Row(settle, (ROOF, "fifty mil"), "five zero", lambda c: settle(c, 1, "length_mm", 50)),
    Row(deny, (ASKED,), "no", lambda c: deny(c, question(c))),
    Row(deny, (ROOF, "~ 0.5 bonnet ten mil"), "no", lambda c: deny(c, question(c))),
    Row(undo, (ROOF,), "scratch that", undo),
    Row(undo, (*QUOTED, "quote accepted"), "scratch that", undo),
    Row(undo, (ROOF, "scratch that"), "put that back", lambda c: undo(c, redo=True)),
    Row(undo, (), "scratch that", undo, refused=True),
    Row(reply, (ROOF,), "total", lambda c: reply(c, "total")),
    Row(find_job, ("new job plate alfa bravo two six kilo lima mike", "new job"),
        "go to plate alfa bravo two six kilo lima mike", lambda c: find_job(c, "AB26KLM", ("plate",))),
    Row(find_job, ("new job",), "go to plate alfa bravo two six kilo lima mike",
        lambda c: find_job(c, "AB26KLM", ("plate",)), refused=True),
    Row(find_job, ("new job", "colour red", "new job"), "go to the red one",
        lambda c: find_job(c, "red one", ("colour",))),
    Row(join_jobs, (ROOF, "new job", ROOF), "join job two to job one", lambda c: join_jobs(c, 2, 1)),
    Row(join_jobs, (ROOF,), "join job two to job one", lambda c: join_jobs(c, 2, 1), refused=True),
    Row(list_jobs, ("new job", "new job"), "open jobs", list_jobs),
    Row(issue_invoice, (ROOF, "give quote", "quote accepted"), "invoice it", issue_invoice),
    Row(issue_invoice, ("roof thirty mil",), "invoice it", issue_invoice, refused=True),
    Row(issue_invoice, ("roof thirty mil",), "invoice it anyway", lambda c: issue_invoice(c, sure=True)),
    Row(issue_invoice, (ROOF, "invoice it"), "invoice it", issue_invoice, refused=True),
    Row(credit_invoice, (ROOF, "invoice it"), "credit note", credit_invoice),
    Row(credit_invoice, (ROOF,), "credit note", credit_invoice, refused=True),
    Row(note_payment, (ROOF, "invoice it"), "paid cash", lambda c: note_payment(c, None, "cash")),
    Row(note_payment, (ROOF, "invoice it"), "paid forty five card", lambda c: note_payment(c, 45, "card")),
    Row(note_payment, (ROOF,), "deposit twenty", lambda c: note_payment(c, 20)),
    Row(note_payment, (ROOF,), "paid cash", lambda c: note_payment(c, None, "cash"), refused=True),
    Row(price_dent, (ROOF,), "price twenty two for this one", lambda c: price_dent(c, 22)),
    Row(price_dent, ("new job",), "price twenty two for this one", lambda c: price_dent(c, 22), refused=True),
    Row(price_whole_job, (ROOF,), "call it three hundred and five", lambda c: price_whole_job(c, 305)),
    Row(add_extra, (ROOF,), "add travel twelve", lambda c: add_extra(c, "travel", 12)),
)  # fmt: skip
"""The table.  Names of dents and jobs are those that the words before give them."""

ONE_SIDED = {
    "hand_over": "by hand only: the language has no words for giving a value to another dent",
    "move_dent": "by hand only: the order of the list is a matter of the screen and the papers",
    "split_dent": "by hand only: the language has no words for it",
    "merge_dents": "by hand only: the language has no words for it",
    "reassign_dent": "by hand only: the language has no words for it",
    "remove_extra": "by hand only: by voice it is taken back with scratch that",
    "strike": "by hand only: by voice scratch that takes back what was said last",
    "correct_time": "by hand only: by voice the minutes of a dent are told, took forty minutes",
    "said_instead": "by hand only: words that were kept are looked at on the screen",
    "drop": "by hand only: a voice that does not answer leaves the question waiting",
    "keep_memo": "by voice only: it is the sound that follows the word, see the listening loop",
    "keep_words": "by voice only: words that were said and that no slot holds",
    "note_minutes": "by voice only: at the desk the minutes of the job are typed",
    "join": "by ids: join_jobs calls it, and so does the command that merges",
    "part_of": "a refusal",
    "joined": "puts two changes of one breath together",
    "change_of": "the table of kinds itself",
    "take_damage": "decides where a spoken note goes; it writes by open_dent and write_slots",
    "no_dent": "a refusal",
    "refused": "a refusal",
    "too_much": "a refusal",
    "ask_again": "a question that stays open",
    "ask_first": "a question before an order",
    "ask_which": "for what an engine is not sure of",
    "asked_whole": "for what an engine is not sure of",
}
ONE_SIDED_ACTIONS = (
    hand_over,
    move_dent,
    split_dent,
    merge_dents,
    reassign_dent,
    remove_extra,
    strike,
    correct_time,
    said_instead,
    drop,
    keep_memo,
    keep_words,
    note_minutes,
)


def actions() -> Iterator[str]:
    """Every public function of the room that gives a change."""
    for found in pkgutil.iter_modules(voicelog.actions.__path__, "voicelog.actions."):
        module = importlib.import_module(found.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            own = function.__module__ == module.__name__ and not name.startswith("_")
            if own and inspect.signature(function).return_annotation == "Change":
                yield name


def test_every_action_has_a_row() -> None:
    rows = {row.action.__name__ for row in ROWS}
    assert set(actions()) - rows == set(ONE_SIDED)
    assert {action.__name__ for action in ONE_SIDED_ACTIONS} <= set(ONE_SIDED)


def prepared(row: Row) -> Talk:
    """A conversation that came so far."""
    talk = new_talk()
    for line in row.before:
        if line.startswith("~ "):
            _, confidence, words = line.split(" ", 2)
            talk.hear(words, float(confidence))
        else:
            talk.say(line)
    return talk


def by_voice(row: Row) -> tuple[Talk, bool]:
    """After the action was said, and whether it was refused."""
    talk = prepared(row)
    if isinstance(row.said, Note):
        return talk, talk.act(row.said, change_of).refused
    return talk, talk.say(row.said).heard.decision == "rejected"


def by_hand(row: Row) -> tuple[Talk, bool]:
    """After the action was done at the desk, and whether it was refused."""
    talk = prepared(row)
    return talk, talk.hand(row.by_hand).refused


IGNORED = {"by", "words", "question", "target", "job", "other"}
"""Who did it, what was said, and ids."""


def told(value: Any) -> Any:
    """A body's JSON without what may differ."""
    if isinstance(value, dict):
        return {name: told(item) for name, item in value.items() if name not in IGNORED}
    return [told(item) for item in value] if isinstance(value, list) else value


def record(talk: Talk) -> list[tuple[str, Any]]:
    """Every event of the journal that is no utterance, in order."""
    bodies = (event.body for event in talk.logbook.events())
    return [
        (body.TYPE, told(body.to_json())) for body in bodies if not isinstance(body, ev.Heard | ev.Cautioned)
    ]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.action.__name__}: {row.said}"[:60])
def test_voice_and_desk_do_the_same(row: Row) -> None:
    before = record(prepared(row))
    (spoken, no_by_voice), (done, no_by_hand) = by_voice(row), by_hand(row)
    assert (no_by_voice, no_by_hand) == (row.refused, row.refused)
    assert record(spoken) == record(done)
    changes = row.action not in (reply, list_jobs) and not row.refused
    assert (record(spoken) != before) == changes
    if changes and spoken.logbook.state.job is not None:
        assert spoken.estimate.total == done.estimate.total
        assert spoken.estimate.confirmed == done.estimate.confirmed
