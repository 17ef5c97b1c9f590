"""The review desk, by keyboard only: what is done there is in the log as events by hand."""

from __future__ import annotations

import threading
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from textual.widgets import Input
from textual.widgets._footer import FooterKey

from voicelog.board.ports import Desk
from voicelog.board.review.commands import COMMANDS, TABS
from voicelog.board.review.details_form import DetailsForm
from voicelog.board.review.lists import (
    DentList,
    EveryJob,
    FieldList,
    JobList,
    LineList,
    OpenList,
    QuoteList,
    UtteranceList,
)
from voicelog.board.review.palette import DeskCommands
from voicelog.board.review.screen import ALSO, ReviewScreen
from voicelog.board.widgets.dialogs import Ask, Pick, PickMany, Show
from voicelog.board.widgets.progress import WorkScreen
from voicelog.errors import VoicelogError
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Dent, Job
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import Note
from voicelog.session.reports import Feed, Progress

from .bench_clock import BenchLog
from .day import held, whole_day
from .drive import CARD, Driven, driven


def desk(board: Driven) -> ReviewScreen:
    """The review screen, which must be on top."""
    screen = board.app.screen
    assert isinstance(screen, ReviewScreen)
    return screen


def job(board: Driven, number: int = 2) -> Job:
    """A job of the day by its number."""
    return next(found for found in board.log.state.jobs.values() if found.number == number)


def dent(board: Driven, number: int, of: int = 2) -> Dent:
    """A dent of a job."""
    return job(board, of).dents[number]


async def to_field(board: Driven, slot: str) -> None:
    """From anywhere on the desk to a field of the dent looked at."""
    fields = desk(board).query_one(FieldList)
    fields.focus()
    await board.press("home", *["down"] * list(fields.items).index(slot))


async def to_dent(board: Driven, number: int) -> None:
    """To a dent of the job looked at."""
    await board.press("2", "home")
    dents = desk(board).query_one(DentList)
    while dents.current.number != number:
        await board.press("down")


def notes(board: Driven) -> str:
    """Every notification so far."""
    return "\n".join(note.message for note in board.app._notifications)


def test_what_waits_comes_first_and_leads_to_its_dent() -> None:
    async def scenario(board: Driven) -> None:
        said = desk(board).query_one(UtteranceList)
        assert said.current.body.words.startswith("right wing steel fifty")
        assert desk(board).dent_number == 2
        assert "1 in doubt" in board.text("#desk-head")
        assert "fifteen mil" in board.text("#said-more")
        await board.press("o")
        assert [event.body.utterance for event in said.items] == list(range(1, 18))

    driven(whole_day(), scenario, review=True)


def test_settling_a_value_prices_it_before_and_after() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("n", "v")
        assert isinstance(board.app.screen, Pick)
        assert board.text("#outlook") == "total £1,000.00–£1,070.00 → £1,070.00"
        await board.press("down")
        assert board.text("#outlook") == "total £1,000.00–£1,070.00 → £1,000.00"
        await board.press("enter")
        assert dent(board, 2).get("length_mm") == 15
        assert board.bodies(ev.Corrected)[-1].by == "hand"
        assert "nothing in doubt" in board.text("#desk-head")
        await board.press("ctrl+z")
        assert dent(board, 2).unconfirmed == ["length_mm"]
        await board.press("ctrl+y")
        assert dent(board, 2).get("length_mm") == 15

    driven(whole_day(), scenario, review=True)


def test_settling_answers_the_open_question() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("n", "v", "enter")
        assert board.bodies(ev.Answered)[-1].value == 50
        assert job(board).questions == {}

    driven(whole_day(asking=True), scenario, review=True)


def test_alternative_of_an_utterance_is_taken_over() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("a")
        dialog = board.app.screen
        assert isinstance(dialog, Pick)
        assert [text for text, _ in dialog.choices][:2] == ["length: 50 mm", "length: 15 mm"]
        assert "fifteen mil deep" in dialog.choices[2][0]
        await board.press("down", "down", "enter")
        assert dent(board, 2).get("length_mm") == 15
        assert dent(board, 2).get("shape") == "bowl"

    def understand(words: str) -> Note:
        assert words == "right wing steel fifteen mil deep sharp on the edge"
        return Note("damage", {"length_mm": held(15), "shape": held("bowl")}, words)

    driven(whole_day(), scenario, review=True, desk=Desk(understand=understand))


def test_an_alternative_changes_the_dent_of_its_utterance() -> None:
    """Not the one displayed: the dents' list may have been walked meanwhile."""

    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await board.press("1", "a", "down", "enter")
        assert dent(board, 2).get("length_mm") == 15
        assert dent(board, 3).get("length_mm") == 45

    driven(whole_day(), scenario, review=True)


def test_number_is_checked_at_every_key_and_priced_live() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await to_field(board, "length_mm")
        await board.press("e")
        assert isinstance(board.app.screen, Ask)
        await board.type("4x")
        assert "must be a number" in board.text("#outlook")
        await board.press("enter")
        assert isinstance(board.app.screen, Ask)
        await board.type("55")
        assert board.text("#outlook") == "total £1,000.00–£1,070.00 → £1,020.00–£1,090.00"
        await board.type("5000")
        assert "unusual" in board.text("#outlook")
        await board.type("55")
        await board.press("enter")
        assert dent(board, 3).get("length_mm") == 55
        assert dent(board, 3).fields["length_mm"].history[-1].by == "hand"

    driven(whole_day(), scenario, review=True)


def test_choice_list_and_clearing() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await to_field(board, "method")
        await board.press("enter")
        assert isinstance(board.app.screen, Pick)
        await board.press("down", "enter")
        assert dent(board, 3).get("method") == "glue-pull"
        assert board.bodies(ev.Noted)[-1].by == "hand"
        await to_field(board, "features")
        await board.press("e")
        assert isinstance(board.app.screen, PickMany)
        await board.press("space", "down", "space", "enter")
        assert dent(board, 3).get("features") == ("body-line", "edge")
        await board.press("x")
        assert dent(board, 3).get("features") is None

    driven(whole_day(), scenario, review=True)


def test_a_place_that_makes_no_sense_is_remarked_on() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await to_field(board, "panel")
        await board.press("e", "home")
        assert "bonnet is at the front" in board.text("#outlook")
        await board.press("escape")
        assert dent(board, 3).get("panel") == "door"

    driven(whole_day(), scenario, review=True)


def test_history_of_a_field() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("n", "v", "down", "enter", "h")
        table = board.app.screen
        assert isinstance(table, Show)
        assert [row.cells[1] for row in table.rows] == ["50 mm", "15 mm"]
        assert [row.cells[2] for row in table.rows] == ["heard by voice", "corrected by hand"]
        await board.press("escape")
        assert isinstance(board.app.screen, ReviewScreen)

    driven(whole_day(), scenario, review=True)


def test_split_a_count_note() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 1)
        await board.press("s")
        await board.type("22")
        assert "between 1 and 21" in board.text("#outlook")
        await board.type("10")
        assert board.text("#outlook").startswith("total stays")
        await board.press("enter")
        assert [d.get("count") for d in job(board).listed()] == [10, None, None, 12]
        assert dent(board, 4).get("panel") == "roof"

    driven(whole_day(), scenario, review=True)


def test_merge_keeps_what_both_knew_and_doubts_where_they_differ() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await board.press("m", "down", "enter")
        merged = dent(board, 3)
        assert dent(board, 2).removed
        assert merged.get("shape") == "sharp"
        assert merged.fields["depth"].choices == ("shallow", "deep")
        assert merged.get("length_mm") == 45
        assert set(merged.fields["length_mm"].choices) == {45, 50, 15}

    driven(whole_day(), scenario, review=True)


def test_reorder_remove_and_restore() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await board.press("K", "K")
        assert [d.number for d in job(board).listed()] == [3, 1, 2]
        await board.press("J")
        assert [d.number for d in job(board).listed()] == [1, 3, 2]
        await board.press("d")
        assert [d.number for d in job(board).listed()] == [1, 2]
        assert desk(board).query_one(DentList).current.number == 3
        await board.press("d")
        assert "removed already" in notes(board)
        await board.press("D")
        assert sorted(d.number for d in job(board).listed()) == [1, 2, 3]

    driven(whole_day(), scenario, review=True)


def test_reassign_to_another_job_and_undo_in_one_step() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await board.press("j", "enter")
        assert dent(board, 3).removed
        moved = dent(board, 3, of=1)
        assert (moved.get("panel"), moved.get("length_mm"), moved.get("width_mm")) == ("door", 45, 30)
        await board.press("ctrl+z")
        assert not dent(board, 3).removed
        assert 3 not in job(board, 1).dents

    driven(whole_day(), scenario, review=True)


def test_give_a_value_to_another_dent() -> None:
    async def scenario(board: Driven) -> None:
        await to_dent(board, 3)
        await to_field(board, "width_mm")
        await board.press("g", "down", "enter")
        assert dent(board, 2).get("width_mm") == 30
        assert dent(board, 3).get("width_mm") is None

    driven(whole_day(), scenario, review=True)


def test_new_dent_and_reading() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("plus")
        assert job(board).open_dent == 4
        assert desk(board).dent_number == 4
        await board.press("2", "r")
        await board.type("142")
        await board.press("enter")
        assert dent(board, 4).readings[-1].um.value == 142
        assert "142 µm" in board.text("#side-foot")

    driven(whole_day(), scenario, review=True)


def test_car_and_customer_are_typed() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("c")
        assert isinstance(board.app.screen, DetailsForm)
        await board.type("ab12 cdq")
        assert "no form that is known of plates in GB" in board.text("#outlook")
        await board.type("ab12 cde")
        await board.press("tab", "tab")
        await board.type("Grey hatchback")
        await board.press("tab")
        await board.type("A. Example")
        await board.press("ctrl+s")
        assert [job(board).get(name) for name in ("plate", "vehicle", "customer", "phone")] == [
            "AB12CDE", "Grey hatchback", "A. Example", None,
        ]  # fmt: skip
        assert set(board.bodies(ev.JobDescribed)[-1].slots) == {"plate", "vehicle", "customer"}

    driven(whole_day(), scenario, review=True)


def test_quote_is_given_accepted_and_supplemented() -> None:
    log = whole_day()
    log.commit([Draft(ev.Corrected(2, {"length_mm": held(50), "method": held("push")}), log.state.current)])

    async def scenario(board: Driven) -> None:
        await board.press("4", "q")
        given = job(board).quotes[0]
        assert given.snapshot["total"] == price_job(job(board), CARD).to_json()["total"]
        assert desk(board).query_one(QuoteList).current.version == 1
        await board.press("y")
        assert given.version == 1
        assert job(board).quotes[0].accepted is True
        await board.press("q")
        assert "Nothing was added since the quote" in notes(board)
        board.log.commit([Draft(ev.Corrected(3, {"depth": held("deep")}), job(board).id)])
        board.app.show_records()
        await board.press("q")
        more = job(board).quotes[1]
        assert more.supplement_to == 1
        # What came on top, not the whole again: both together are the price as it stands.
        whole = price_job(job(board), CARD).total
        sums = [Decimal(str(quote.snapshot["total"]["low"])) for quote in job(board).quotes]
        assert sum(sums) == whole.low
        await board.press("end", "z")
        assert job(board).quotes[1].accepted is False
        await board.press("z")
        assert len(board.bodies(ev.QuoteSettled)) == 2

    driven(log, scenario, review=True)


def test_papers_show_progress_and_give_their_paths() -> None:
    release = threading.Event()

    def papers(of: Job) -> Any:
        def work(report: Feed, stop: threading.Event) -> list[Path]:
            report(Progress(1, 4, "estimate sheet"))
            release.wait(5)
            return [Path("estimate.pdf")]

        return work

    async def scenario(board: Driven) -> None:
        await board.press("w")
        assert isinstance(board.app.screen, WorkScreen)
        for _ in range(100):
            if board.text("#outlook") == "estimate sheet":
                break
            await board.pilot.pause(0.02)
        assert board.text("#outlook") == "estimate sheet"
        release.set()
        await until_desk(board)
        assert "estimate.pdf" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(papers=papers))


async def until_desk(board: Driven) -> None:
    """Wait for a piece of work to close its screen."""
    for _ in range(200):
        if isinstance(board.app.screen, ReviewScreen):
            break
        await board.pilot.pause(0.02)
    await board.pilot.pause()
    assert isinstance(board.app.screen, ReviewScreen)


def test_long_work_can_be_stopped() -> None:
    stopped = threading.Event()

    def papers(of: Job) -> Any:
        def work(report: Feed, stop: threading.Event) -> None:
            while not stop.is_set():
                report(Progress(1, 10, "papers"))
                stopped.wait(0.01)
            stopped.set()
            raise VoicelogError("papers were stopped")

        return work

    async def scenario(board: Driven) -> None:
        await board.press("w")
        await board.press("escape")
        await until_desk(board)
        assert stopped.is_set()
        assert "Stopped" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(papers=papers))


def test_failed_work_says_why() -> None:
    def papers(of: Job) -> Any:
        def work(report: Feed, stop: threading.Event) -> None:
            raise VoicelogError("the folder is full", todo="make room")

        return work

    async def scenario(board: Driven) -> None:
        await board.press("w")
        await until_desk(board)
        assert "the folder is full; make room" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(papers=papers))


def test_clip_is_played_and_a_missing_one_is_said() -> None:
    played: list[Path] = []

    def clip(digest: str) -> Path:
        return Path(f"{digest}.flac")

    async def scenario(board: Driven) -> None:
        await board.press("p")
        for _ in range(100):
            if played:
                break
            await board.pilot.pause(0.02)
        assert played == [Path("c0ffee.flac")]
        await board.press("down", "p")
        assert "No sound was kept" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(clip=clip, play=played.append))


def test_a_clip_that_is_gone_is_one_line() -> None:
    def clip(digest: str) -> Path:
        raise VoicelogError("the clip is no longer kept")

    async def scenario(board: Driven) -> None:
        await board.press("p")
        for _ in range(100):
            if "no longer kept" in notes(board):
                break
            await board.pilot.pause(0.02)
        assert "the clip is no longer kept" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(clip=clip))


def test_jobs_and_days() -> None:
    log = whole_day()

    async def scenario(board: Driven) -> None:
        await board.press("left_square_bracket")
        assert desk(board).job_id == job(board, 1).id
        assert [d.number for d in desk(board).query_one(DentList).items] == [1, 2]
        await board.press("right_square_bracket")
        assert desk(board).job_id == job(board, 2).id
        assert [found.number for found in desk(board).query_one(JobList).items] == [1, 2]
        await board.press("asterisk")
        assert "all days" in board.text("#desk-head")

    driven(log, scenario, review=True)


def test_told_discount_and_finish() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("percent_sign")
        await board.type("10")
        await board.press("enter")
        assert job(board).discount_percent == 10
        await board.press("f")
        assert "stop it and finish the job?" in notes(board)
        assert job(board).finished_at is None
        open_list = desk(board).query_one(OpenList)
        open_list.select(next(doubt.key for doubt in open_list.items if doubt.slot == "note"))
        open_list.focus()
        await board.press("enter", "enter")
        assert "lines" in job(board).gaps

    def understand(words: str) -> Note:
        return Note("job", {"job": held("finished")}, words)

    driven(whole_day(), scenario, review=True, desk=Desk(understand=understand))


def test_a_finished_job_says_what_it_lacks() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("f")
        assert "lines" in job(board).gaps
        assert "lines checked from two directions" in notes(board)

    driven(whole_day(), scenario, review=True, desk=Desk(closes_clock=True))


def test_a_wrong_time_a_wrong_step_and_wrong_minutes_are_mended_by_key() -> None:
    """What no field holds: it is chosen from a list of the job's own, and only that one goes."""

    async def scenario(board: Driven) -> None:
        board.log.commit(
            [Draft(ev.Stepped({"step": held(name)}, 1), job(board).id) for name in ("warm", "pull")]
        )
        assert [step.step for step in dent(board, 1).steps] == ["warm", "pull"]
        await board.press("X", "down")
        assert isinstance(board.app.screen, Pick)
        await board.press("enter")
        assert [step.step for step in dent(board, 1).steps] == ["pull"]
        await board.press("T")
        await board.type("11")
        await board.press("enter")
        assert job(board).timer.worked_s == 660
        await board.press("ctrl+z", "ctrl+z")
        assert [step.step for step in dent(board, 1).steps] == ["warm", "pull"]

    driven(whole_day(), scenario, review=True)


def test_prices_and_charts() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("3")
        assert [line.text for line in desk(board).query_one(LineList).items] == ["dent 1", "dent 2", "dent 3"]
        assert board.text("#price-total") == "TOTAL between  £1,000.00–£1,070.00"
        await board.press("5")
        charts = board.text("#charts")
        # Twenty seconds a group: job 1 from "start work" to "stop work" 7 groups later, job 2 from
        # "start work" to the opening of its third dent 4 groups later; what runs on is not banked yet.
        assert "0:03:40" in charts
        assert "£150.00" in charts

    driven(whole_day(), scenario, review=True)


def test_back_and_forth_between_board_and_desk() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("r")
        assert isinstance(board.app.screen, ReviewScreen)
        await board.press("b")
        assert board.app.screen is board.app.live

    driven(whole_day(), scenario)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.name)
def test_every_command_has_an_action_and_survives_an_empty_journal(command: Any) -> None:
    async def scenario(board: Driven) -> None:
        await desk(board).run_action(f"do('{command.name}')")
        await board.pilot.pause()
        assert isinstance(board.app.screen, ReviewScreen)

    driven(BenchLog(), scenario, review=True)


def test_keys_are_never_given_twice() -> None:
    keys = [key for command in COMMANDS for key in command.key.split(",")]
    assert len(keys) == len(set(keys))


def test_palette_offers_every_command_and_does_it() -> None:
    async def scenario(board: Driven) -> None:
        provider = DeskCommands(desk(board))
        offered = [hit async for hit in provider.discover()]
        assert len(offered) == len(COMMANDS)
        await board.press("ctrl+p", *"typecar")
        await board.pilot.pause(0.3)
        await board.press("enter")
        await board.pilot.pause(0.1)
        assert isinstance(board.app.screen, DetailsForm)

    driven(whole_day(), scenario, review=True)


def test_a_doubt_of_the_job_can_be_seen_and_settled() -> None:
    log = whole_day()
    log.commit([
        Draft(ev.Measured("reference", held(118, 1188)), log.state.current),
        Draft(ev.Asked("q1", "reference_um", (118, 1188), "reference 118; or 1188?"), log.state.current),
    ])  # fmt: skip

    async def scenario(board: Driven) -> None:
        assert "2 in doubt" in board.text("#desk-head")
        await board.press("n")
        shown = desk(board).query_one(OpenList)
        assert shown.current.why == "reference 118; or 1188?"
        assert [doubt.slot for doubt in shown.items] == ["reference_um", "length_mm"]
        await board.press("enter", "enter")
        assert job(board).references[-1].um.confirmed
        assert job(board).references[-1].um.value == 118
        assert "1 in doubt" in board.text("#desk-head")

    driven(log, scenario, review=True)


def test_a_dropped_question_leaves_the_value_in_doubt() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("k")
        assert not board.bodies(ev.Answered)
        assert desk(board).query_one(OpenList).has_focus
        await board.press("k")
        assert board.bodies(ev.Answered)[-1].value is None
        assert dent(board, 2).unconfirmed == ["length_mm"]
        assert "1 in doubt" in board.text("#desk-head")
        await board.press("k")
        assert "No question is open" in notes(board)

    driven(whole_day(asking=True), scenario, review=True)


def test_undo_and_redo_name_what_they_did_and_a_refusal_is_a_line() -> None:
    log = whole_day()
    log.commit([Draft(ev.Finished(("lines",)), log.state.current)])

    async def scenario(board: Driven) -> None:
        await board.press("ctrl+z")
        assert job(board).finished_at is None
        assert "Taken back: job finished" in notes(board)
        await board.press("ctrl+y")
        assert "Put back: job finished" in notes(board)
        await board.press("percent_sign")
        await board.type("50")
        assert board.text("#outlook") == "✕ the card allows 12 percent at most"
        await board.press("escape", "4", "y")
        assert "No quote was given yet" in notes(board)

    driven(log, scenario, review=True)


def test_a_note_is_typed_as_it_would_be_said() -> None:
    """What has no key of its own, such as a step, goes to the dent looked at."""

    async def scenario(board: Driven) -> None:
        await to_dent(board, 1)
        await board.press("colon")
        await board.type("warm")
        await board.press("enter")
        assert [step.step for step in dent(board, 1).steps] == ["warm"]
        assert dent(board, 3).steps == []

    def understand(words: str) -> Note:
        return Note("step", {"step": held(words)}, words)

    driven(whole_day(), scenario, review=True, desk=Desk(understand=understand))


def test_what_was_said_is_given_to_another_dent() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("o")
        desk(board).query_one(UtteranceList).select(17)
        await board.pilot.pause()
        await board.press("i", "down", "enter")
        assert (dent(board, 3).get("depth"), dent(board, 3).get("access")) == (None, None)
        assert (dent(board, 2).get("depth"), dent(board, 2).get("access")) == ("shallow", "open")

    driven(whole_day(), scenario, review=True)


def test_words_alternatives_and_sound_are_there_while_a_doubt_is_settled() -> None:
    played: list[Path] = []
    ports = Desk(clip=Path, play=played.append)

    async def scenario(board: Driven) -> None:
        await board.press("n", "v")
        about = board.text("#about")
        assert "right wing steel fifty mil deep sharp on the edge" in about
        assert "right wing steel fifteen mil deep sharp on the edge (39%)" in about
        await board.press("p")
        for _ in range(100):
            if played:
                break
            await board.pilot.pause(0.02)
        assert played == [Path("c0ffee")]
        assert isinstance(board.app.screen, Pick)
        await board.press("down", "enter")
        assert dent(board, 2).get("length_mm") == 15

    driven(whole_day(), scenario, review=True, desk=ports)


def test_no_key_is_dead_by_focus() -> None:
    """From what was said: the field looked at is edited, the dent looked at is removed."""

    async def scenario(board: Driven) -> None:
        assert desk(board).query_one(UtteranceList).has_focus
        await board.press("e")
        assert isinstance(board.app.screen, Pick)
        await board.press("escape", "s")
        assert len(list(job(board).listed())) == 4
        number = desk(board).dent_number
        assert number is not None
        await board.press("d", "d")
        assert dent(board, number).removed
        await board.press("D")
        assert not dent(board, number).removed

    driven(whole_day(), scenario, review=True)


def test_nothing_is_done_to_a_quote_or_utterance_that_is_not_shown() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("4", "1", "y")
        assert not board.bodies(ev.QuoteSettled)
        assert desk(board).query_one(QuoteList).has_focus
        assert "press the key once more" in notes(board)
        await board.press("2", "i")
        assert isinstance(board.app.screen, ReviewScreen)
        assert desk(board).query_one(UtteranceList).has_focus

    driven(whole_day(), scenario, review=True)


def test_a_settled_utterance_has_no_question_mark_any_more() -> None:
    async def scenario(board: Driven) -> None:
        said = desk(board).query_one(UtteranceList)
        number = said.current.body.utterance
        assert said._draw(said.current).cells[2] == "?"
        await board.press("n", "v", "enter")
        settled = next(event for event in said.items if event.body.utterance == number)
        assert said._draw(settled).cells[2] == "✓"

    driven(whole_day(), scenario, review=True)


def test_words_are_looked_for_in_what_was_said_and_in_the_jobs() -> None:
    log = whole_day()
    log.commit([Draft(ev.JobDescribed({"customer": held("Ada Byron")}), log.state.current)])

    async def scenario(board: Driven) -> None:
        await board.press("slash", *"edge", "enter")
        assert [event.body.words for event in desk(board).query_one(UtteranceList).items] == [
            "right wing steel fifty mil deep sharp on the edge"
        ]
        assert "only “edge”" in board.text("#desk-head")
        await board.press("slash")
        await board.type("byron")
        await board.press("enter", "7")
        found = desk(board).query_one(EveryJob)
        assert [row.number for row in found.items] == [2]
        assert found._draw(found.current).cells == ("? 2", "2025-03-04", "XX70DNT", "Ada Byron", "at work")
        await board.press("enter")
        assert desk(board).job_id == job(board, 2).id
        assert "only" not in board.text("#desk-head")
        await board.press("7")
        assert [row.standing for row in desk(board).query_one(EveryJob).items] == ["at work", "finished"]

    driven(log, scenario, review=True)


def test_invoice_and_payment_by_key() -> None:
    async def scenario(board: Driven) -> None:
        await board.press("left_square_bracket", "I")
        if isinstance(board.app.screen, Pick):  # What speaks against it is named first.
            await board.press("down", "enter")
        assert len(job(board, 1).issued) == 1
        due = job(board, 1).issued[0].snapshot["total"]["low"]
        await board.press("P")
        assert board.app.screen.query_one(Input).value == f"{due} "
        await board.press(*"cash", "enter")
        paid = board.bodies(ev.Paid)[-1]
        assert (f"{paid.amount:.2f}", paid.how) == (due, "cash")
        await board.press("7")
        assert desk(board).query_one(EveryJob).items[-1].standing == "paid"

    driven(whole_day(), scenario, review=True)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_help_fits_and_names_every_key(size: tuple[int, int]) -> None:
    async def scenario(board: Driven) -> None:
        await board.press("question_mark")
        dialog = board.app.screen
        assert isinstance(dialog, Show)
        assert len(dialog.rows) == len(COMMANDS) + len(TABS) + len(ALSO)
        box = dialog.query_one(".dialog").region
        assert box.x >= 0
        assert box.right <= size[0]
        assert box.bottom <= size[1]
        if size[0] >= 120:
            before_help = 2 + 7 + 1 + 13 + 1
            longest = max(len(command.help) for command in COMMANDS)
            assert dialog.query_one("#shown").scrollable_content_region.width >= before_help + longest
        await board.press("escape")
        assert isinstance(board.app.screen, ReviewScreen)

    driven(whole_day(), scenario, size=size, review=True)


def test_quit_is_in_sight_and_inheritance_is_flat() -> None:
    async def scenario(board: Driven) -> None:
        regions = {str(key.description): key.region for key in board.app.screen.query(FooterKey)}
        assert 0 < regions["Quit"].right <= 80
        ours = [kind for kind in type(board.app.screen).__mro__ if kind.__module__.startswith("voicelog.")]
        assert len(ours) <= 2

    driven(whole_day(), scenario, size=(80, 24), review=True)
