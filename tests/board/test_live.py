"""The live board shows what the session reports and what the records hold."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from voicelog.board.app import BoardApp
from voicelog.board.live.caution_band import CautionBand
from voicelog.board.live.ear_band import EarBand
from voicelog.board.live.heard_line import Hearing
from voicelog.board.live.plan_view import PlanView
from voicelog.board.live.question_card import QuestionCard
from voicelog.board.live.screen import LiveScreen
from voicelog.board.live.total_band import TotalBand
from voicelog.board.messages import LevelFed, PartialFed
from voicelog.board.ports import Desk
from voicelog.board.widgets.big_text import BigText
from voicelog.board.widgets.level_meter import LevelMeter
from voicelog.errors import VoicelogError
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.store import Draft
from voicelog.meaning.note import Note
from voicelog.session import reports

from .bench_clock import BenchLog
from .day import asking_note, dent, heard, held, new_job, say, warned, whole_day
from .drive import CARD, Driven, driven, looked
from .plain_price import price

LISTENING = reports.EarChanged("listening", "headset", "bench engine")


def shown(board: Driven, name: str) -> str:
    """The text that a line of large letters stands for."""
    texts = board.app.screen.query_one(f"#{name}", BigText).texts
    return texts[0] if texts else ""


def test_open_dent_total_and_plan_come_from_the_records() -> None:
    async def scenario(board: Driven) -> None:
        assert shown(board, "dent-place") == "rear right door"
        assert shown(board, "dent-size") == "45 × 30 mm shallow"
        # 22 dents of 20 mm, 15 or 50 mm, and 45 mm at £2 a millimetre.
        assert shown(board, "total-figure") == "£1,000.00–£1,070.00"
        assert "dent 2 50 or 15 mm" in board.text("#total-points")
        plan = board.app.screen.query_one(PlanView).plan
        assert plan is not None
        counts = {(block.panel, block.x): block.dents for block in plan.blocks if block.dents}
        assert sorted(counts.values()) == [1, 1, 22]
        assert [block.panel for block in plan.blocks if block.is_open] == ["door"]

    driven(whole_day(), scenario)


def test_empty_slots_stay_in_sight() -> None:
    async def scenario(board: Driven) -> None:
        shown_cells = {name: value for name, value, _ in board.app.screen.query_one("#dent-slots").shown}
        assert shown_cells["method"] == "·····"
        assert shown_cells["access"] == "open"

    driven(whole_day(), scenario)


@pytest.mark.parametrize(
    ("state", "mark", "word"),
    [
        ("listening", "●", "listening"),
        ("asleep", "☾", "asleep"),
        ("lost", "✕", "mic gone"),
        ("off", "○", "mic off"),
    ],
)
def test_every_state_of_the_ear_has_a_mark_and_a_word(state: reports.Ear, mark: str, word: str) -> None:
    async def scenario(board: Driven) -> None:
        await board.feed(reports.EarChanged(state, "headset", "bench engine"))
        assert shown(board, "ear-sign") == f"{mark} {word}"
        assert "headset" in board.text("#ear-engine")

    driven(whole_day(), scenario)


def test_partial_gives_way_to_the_utterance_and_its_answer() -> None:
    log = whole_day()

    async def scenario(board: Driven) -> None:
        await board.feed(LISTENING, reports.Partial("method"))
        assert shown(board, "ear-sign") == "◉ hearing"
        assert "method" in str(board.app.screen.query_one(Hearing).render())
        said = say(log, "method push", ev.Noted(3, {"method": held("push")}))
        await board.feed(reports.Utterance(said, "method push", "accepted"))
        lines = str(board.app.screen.query_one(Hearing).render())
        assert "✓ taken down" in lines
        assert "method push" in lines
        assert shown(board, "ear-sign") == "● listening"
        assert ("method", "push", False) in board.app.screen.query_one("#dent-slots").shown

    driven(log, scenario)


def test_question_takes_the_screen_and_a_key_answers_it() -> None:
    log = whole_day(asking=True)

    async def scenario(board: Driven) -> None:
        card = board.app.screen.query_one(QuestionCard)
        assert card.display
        assert (shown(board, "choice-1"), shown(board, "choice-2")) == ("50 mm", "15 mm")
        await board.press("2")
        assert board.bodies(ev.Answered)[-1].value == 15
        assert board.bodies(ev.Answered)[-1].by == "hand"
        assert not card.display
        assert shown(board, "total-figure") == "£1,000.00"
        await board.press("ctrl+z")
        assert card.display

    driven(log, scenario)


def test_caution_stays_until_it_is_understood() -> None:
    log = whole_day()
    log.commit([Draft(ev.Cautioned("solvent-near-heat"), log.state.current)])

    async def scenario(board: Driven) -> None:
        band = board.app.screen.query_one(CautionBand)
        # It waits in the record, so a board that was opened afterwards shows it too.
        assert band.display
        assert "solvent" in board.text("#caution").lower()
        await board.press("u")
        assert not band.display
        assert board.bodies(ev.Understood) == [ev.Understood("solvent-near-heat")]

    driven(log, scenario)


def test_a_caution_of_an_earlier_job_is_neither_shown_nor_hidden_unrecorded() -> None:
    log = whole_day()
    first = log.state.current
    log.commit([Draft(ev.Cautioned("solvent-near-heat"), first)])
    log.commit([Draft(ev.JobOpened(3))])

    async def scenario(board: Driven) -> None:
        band = board.app.screen.query_one(CautionBand)
        await board.feed(reports.Caution("solvent-near-heat", "Solvent was wiped minutes ago."))
        assert not band.display
        await board.press("u")
        assert board.bodies(ev.Understood) == []
        log.commit([Draft(ev.JobSelected(), first)])
        board.app.show_records()
        await board.pilot.pause()
        assert band.display

    driven(log, scenario)


def test_only_the_latest_level_and_partial_count() -> None:
    async def scenario(board: Driven) -> None:
        for number in range(200):
            board.app.feed(reports.Level(-60 + number / 10))
        for number in range(200):
            board.app.feed(reports.Partial(f"word {number}"))
        await looked(board.app, board.pilot)
        handled = [message for message in board.messages if isinstance(message, LevelFed)]
        assert board.app.screen.query_one(LevelMeter).level == reports.Level(-60 + 199 / 10)
        assert board.app.screen.query_one(Hearing).partial == "word 199"
        assert 1 <= len(handled) < 20
        assert len([message for message in board.messages if isinstance(message, PartialFed)]) < 20

    driven(whole_day(), scenario)


def test_clipping_is_said_in_words() -> None:
    async def scenario(board: Driven) -> None:
        await board.feed(reports.Level(-20.0, clipped=True))
        assert "TOO LOUD" in str(board.app.screen.query_one(LevelMeter).render())

    driven(whole_day(), scenario)


def test_session_runs_in_a_thread_and_ends_with_the_board() -> None:
    seen: dict[str, bool] = {}

    def run(report: reports.Feed, stop: threading.Event) -> None:
        seen["own thread"] = threading.current_thread() is not threading.main_thread()
        report(LISTENING)
        seen["stopped"] = stop.wait(10)

    async def scenario(board: Driven) -> None:
        for _ in range(50):
            if shown(board, "ear-sign") == "● listening":
                break
            await board.pilot.pause(0.02)
        assert shown(board, "ear-sign") == "● listening"

    started = time.monotonic()
    driven(whole_day(), scenario, run=run)
    assert seen == {"own thread": True, "stopped": True}
    assert time.monotonic() - started < 8


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (VoicelogError("no microphone", todo="plug one in"), "no microphone; plug one in"),
        (RuntimeError("boom"), "should not have happened (RuntimeError boom)"),
    ],
)
def test_a_session_that_fails_is_shown_and_the_ear_is_off(error: Exception, text: str) -> None:
    def run(report: reports.Feed, stop: threading.Event) -> None:
        report(LISTENING)
        raise error

    async def scenario(board: Driven) -> None:
        for _ in range(50):
            if board.app._notifications:
                break
            await board.pilot.pause(0.02)
        notes = [note.message for note in board.app._notifications]
        assert any(text in note for note in notes)
        assert board.app.live.query_one(EarBand).ear.state == "off"

    driven(whole_day(), scenario, run=run)


def test_large_type_leaves_out_slots_plan_and_footer() -> None:
    async def scenario(board: Driven) -> None:
        screen = board.app.screen
        assert isinstance(screen, LiveScreen)
        assert screen.query_one(PlanView).display
        await board.press("f")
        assert screen.has_class("-large-type")
        assert not screen.query_one(PlanView).display
        assert not screen.query_one("#dent-slots").region.height
        assert shown(board, "dent-next") == "say paint reading"
        assert screen.query_one("#dent-place", BigText).fitting(118)[1] == 2

    driven(whole_day(), scenario)


@pytest.mark.parametrize(("size", "rows"), [((80, 24), 4), ((120, 40), 7), ((200, 60), 11), ((42, 40), 8)])
def test_what_to_say_next_is_as_tall_as_the_screen_allows(size: tuple[int, int], rows: int) -> None:
    """Rows of large letters: 4 of a quarter cell, 7 of whole cells, 11 of one and a half; 8 are two lines."""

    async def scenario(board: Driven) -> None:
        for name in ("dent-place", "dent-size", "dent-next"):
            region = board.app.screen.query_one(f"#{name}").region
            assert region.height >= min(rows, 4 if size[0] < 72 else rows), name
            assert region.bottom <= board.app.screen.query_one(TotalBand).region.y

    driven(whole_day(), scenario, size=size)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60), (42, 40)])
def test_a_question_hides_neither_size_nor_price(size: tuple[int, int]) -> None:
    async def scenario(board: Driven) -> None:
        rows = [board.app.screen.query_one(f"#{name}").region for name in
                ("dent-size", "choice-1", "choice-2", "question-text", "total-figure")]  # fmt: skip
        assert all(row.height and row.bottom <= size[1] for row in rows)
        assert all(row.height >= 4 for row in (rows[0], rows[1], rows[2], rows[4]))
        assert rows[0].bottom <= rows[1].y <= rows[3].y <= rows[4].y
        assert "DENT 3, rear right door" in board.text("#dent-head")
        assert shown(board, "total-figure") == "£1,000.00–£1,070.00"

    driven(whole_day(asking=True), scenario, size=size)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (42, 40)])
@pytest.mark.parametrize("log", [asking_note, warned])
def test_whole_notes_and_cautions_leave_the_size_in_sight(
    size: tuple[int, int], log: Callable[[], BenchLog]
) -> None:
    async def scenario(board: Driven) -> None:
        live = board.app.live
        place = live.query_one("#dent").region
        region = live.query_one("#dent-size").region
        assert region.height >= 4
        assert region.bottom <= place.bottom
        next_one = live.query_one("#dent-next").region
        assert next_one.bottom <= place.bottom
        assert next_one.height >= 4 or live.asking
        assert live.query_one("#total-figure").region.height >= 4
        assert live.query_one(CautionBand).region.height <= 3

    driven(log(), scenario, size=size)


def test_a_doubtful_width_leaves_the_length_in_sight() -> None:
    log = whole_day()
    slots = {"panel": held("roof"), "length_mm": held(45), "width_mm": held(30, 13, doubt="sounds alike")}
    dent(log, 4, slots, "roof forty five by thirty")

    async def scenario(board: Driven) -> None:
        assert shown(board, "dent-size") == "45 × 30/13? mm"

    driven(log, scenario)


def test_nothing_to_price_is_no_settled_nought() -> None:
    log = BenchLog()
    new_job(log, 1, "XX21ABC")

    async def scenario(board: Driven) -> None:
        assert shown(board, "total-figure") == "–"
        assert board.text("#total-standing") == "nothing to price yet"
        assert shown(board, "dent-next") == "say panel and size"

    driven(log, scenario)


def test_first_paint_says_that_the_microphone_is_off() -> None:
    async def scenario(board: Driven) -> None:
        assert shown(board, "ear-sign") == "○ mic off"
        assert board.app.screen.query_one("#ear-sign").region.height == 4
        assert "nothing is being taken down" in board.text("#ear-hint")

    driven(whole_day(), scenario)


def test_free_transcript_and_kept_words_of_the_last_utterance_are_shown() -> None:
    log = whole_day()

    async def scenario(board: Driven) -> None:
        said = heard(log, "method push", heard="Method push with the whale tail.", kept=("whale tail",))
        await board.feed(reports.Utterance(said, "method push, kept: whale tail", "accepted"))
        line = str(board.app.screen.query_one(Hearing).render()).splitlines()[0]
        assert "heard “Method push with the whale tail.”" in line
        assert "kept: whale tail" in line
        same = heard(log, "method push", heard="Method, push.")
        await board.feed(reports.Utterance(same, "method push", "accepted"))
        assert "heard" not in str(board.app.screen.query_one(Hearing).render())

    driven(log, scenario)


def test_quitting_while_it_listens_takes_two_presses() -> None:
    def run(report: reports.Feed, stop: threading.Event) -> None:
        report(LISTENING)
        stop.wait(10)

    async def scenario(board: Driven) -> None:
        for _ in range(50):
            if shown(board, "ear-sign") == "● listening":
                break
            await board.pilot.pause(0.02)
        await board.press("q")
        assert board.app.is_running
        assert any("Still listening" in note.message for note in board.app._notifications)
        await board.press("q")
        assert board.app._exit

    driven(whole_day(), scenario, run=run)


def test_only_themes_that_have_our_colours_are_offered_and_changing_them_breaks_nothing() -> None:
    async def scenario(board: Driven) -> None:
        assert set(board.app.available_themes) == {"workshop-dark", "workshop-light"}
        for name in board.app.available_themes:
            board.app.theme = name
            await board.press("r", "b")
        assert board.app.is_running

    driven(whole_day(), scenario)


def test_light_and_dark() -> None:
    async def scenario(board: Driven) -> None:
        assert board.app.theme == "workshop-dark"
        await board.press("t")
        assert board.app.theme == "workshop-light"

    driven(whole_day(), scenario)


def test_ended_source_is_said() -> None:
    async def scenario(board: Driven) -> None:
        await board.feed(LISTENING, reports.Ended())
        assert shown(board, "ear-sign") == "■ ended"

    driven(whole_day(), scenario)


def test_working_on_past_a_question_leaves_both_in_sight() -> None:
    log = whole_day(asking=True)

    async def scenario(board: Driven) -> None:
        said = say(log, "method push", ev.Noted(3, {"method": held("push")}))
        await board.feed(reports.Utterance(said, "method push", "accepted"))
        screen = board.app.live
        assert screen.query_one(QuestionCard).display
        assert screen.query_one("#dent-size").region.height == 4
        assert screen.query_one("#choice-1").region.height == 4

    driven(log, scenario, size=(80, 24))


def test_a_doubted_single_value_is_asked_with_its_unit() -> None:
    log = whole_day()
    text = "reference one one eight eight micron: is that right?"
    log.commit([Draft(ev.Asked("q9", "reference_um", (1188,), text), log.state.current)])

    async def scenario(board: Driven) -> None:
        assert shown(board, "choice-1") == "1188 µm?"
        assert board.app.screen.query_one("#choice-1", BigText).fitting(70)[1] == 2
        assert not board.app.screen.query_one("#choice-2").display
        assert "press 1 for yes" in board.text("#question-text")

    driven(log, scenario)


def test_a_board_beside_the_writer_follows_the_journal_and_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "journal.db"
    with Logbook.open(path) as writer:
        writer.commit([Draft(ev.JobOpened(1))])
        job = writer.state.current

        async def scenario() -> None:
            app = BoardApp(Logbook.open(path, writer=False), CARD, price=price, only_shows=True)
            async with app.run_test(size=(120, 40)) as pilot:
                await pilot.pause()
                writer.commit([
                    Draft(ev.DentOpened(1), job),
                    Draft(ev.Noted(1, {"panel": held("roof"), "length_mm": held(20)}), job),
                ])  # fmt: skip
                for _ in range(100):
                    if app.live.query_one("#dent-place", BigText).texts == ("roof", "roof", "roof"):
                        break
                    await pilot.pause(0.05)
                assert app.live.query_one("#dent-place", BigText).texts[0] == "roof"
                await pilot.press("ctrl+z")
                await pilot.pause()
                assert any("only shows" in note.message for note in app._notifications)

        asyncio.run(asyncio.wait_for(scenario(), 20))
        assert [event.type for event in writer.events()] == ["job-opened", "dent-opened", "noted"]


NOTES = {"left wing shallow push": Note("damage", {"panel": held("wing"), "side": held("left")})}


def understood(words: str) -> Note:
    """What the words of a question about a whole note mean."""
    return NOTES.get(words, Note("none", words=words))


@pytest.mark.parametrize(("keys", "chosen"), [(("1",), "left wing shallow push"), (("r", "k", "k"), None)])
def test_question_about_a_whole_note_is_answered_or_dropped(
    keys: tuple[str, ...], chosen: str | None
) -> None:
    log = whole_day()
    words = ("left wing shallow push", "left wing shallow")
    log.commit(
        [Draft(ev.Asked("q7", "note", words, "left wing, shallow, push: is that right?"), log.state.current)]
    )

    async def scenario(board: Driven) -> None:
        assert shown(board, "choice-1") == words[0]
        await board.press(*keys)
        assert board.bodies(ev.Answered) == [ev.Answered("q7", chosen, by="hand", slot="note")]
        job = log.state.job
        assert job is not None
        assert [dent.get("panel") for dent in job.listed()][3:] == (["wing"] if chosen else [])
        await board.press("b")
        assert not board.app.live.query_one(QuestionCard).display

    driven(log, scenario, desk=Desk(understand=understood))


def test_the_question_shown_is_the_one_an_answer_goes_to() -> None:
    log = whole_day(asking=True)
    job = log.state.current
    log.commit([Draft(ev.Asked("q2", "depth", ("shallow", "deep"), "depth: shallow; or deep?", 3), job)])
    log.commit([Draft(ev.Asked("q3", "material", ("steel", "plastic"), "steel; or plastic?", 1), job)])
    log.commit([Draft(ev.DentSelected(3), job)])

    async def scenario(board: Driven) -> None:
        # Whichever dent is open, the question asked last is the one that was heard.
        assert "DENT 1 · material" in board.text("#question-about")
        await board.press("1")
        assert board.bodies(ev.Answered)[-1].question == "q3"
        assert "DENT 3 · depth" in board.text("#question-about")

    driven(log, scenario)


def test_partials_keep_up_with_a_busy_session() -> None:
    """At least five a second, with ten reports of the level a second beside them."""
    seen: set[str] = set()

    def run(report: reports.Feed, stop: threading.Event) -> None:
        report(LISTENING)
        number = 0
        while not stop.wait(0.05):
            number += 1
            report(reports.Level(-30.0))
            report(reports.Partial(f"word {number}"))

    async def scenario(board: Driven) -> None:
        ends = time.monotonic() + 2.0
        while time.monotonic() < ends:
            await board.pilot.pause(0.02)
            seen.add(str(board.app.live.query_one(Hearing).render()).splitlines()[0])

    driven(whole_day(), scenario, run=run)
    assert len(seen) >= 10
