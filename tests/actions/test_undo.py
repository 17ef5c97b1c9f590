"""Undo takes back what was said or done last, whatever it was, and names it; redo brings it back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.actions.conftest import CARD, NOON, Talk
from tests.jobs.mini_jobs import SteppedClock, network
from voicelog.actions.change import Context
from voicelog.actions.dents import split_dent
from voicelog.actions.notes import said_instead
from voicelog.actions.slots import set_slots
from voicelog.actions.steps_and_time import keep_memo, keep_words
from voicelog.actions.undo import correct_time, strike, undo
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.meaning.note import SlotValue
from voicelog.meaning.region import Region
from voicelog.meaning.understand import understand
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.dialogue import Dialogue

ROOF = "roof steel thirty mil shallow open access push"
SAID = (
    ((), "new job", "new job"),
    (("new job",), "front left door ten mil", "front left door, one zero mil"),
    ((), "roof ten mil", "roof, one zero mil, new job"),
    ((ROOF,), "deep", "deep"),
    ((ROOF,), "correct length fifty mil", "five zero mil"),
    ((ROOF,), "clear depth", "depth cleared"),
    ((ROOF, "next dent bonnet ten mil"), "go to dent one", "go to dent 1"),
    ((ROOF,), "remove dent one", "removed dent 1"),
    ((ROOF, "remove dent one"), "restore dent one", "restored dent 1"),
    ((ROOF,), "paint one four two", "paint one four two"),
    ((ROOF,), "reference one four two", "reference one four two"),
    ((ROOF,), "start work", "start work"),
    ((ROOF,), "pull three times", "pull three"),
    ((ROOF,), "crease may show", "crease may show"),
    ((ROOF, "crease may show"), "customer told", "customer told"),
    ((ROOF,), "plate alfa bravo one two charlie delta echo", "plate A B 1 2 C D E"),
    ((ROOF,), "discount five percent", "discount 5 percent"),
    ((ROOF,), "give quote", "quote 1"),
    ((ROOF, "give quote"), "quote accepted", "quote accepted"),
    ((ROOF, "give quote", "quote accepted", "next dent bonnet ten mil"), "give quote", "supplement 2"),
    ((ROOF,), "job finished", "job finished"),
    ((ROOF,), "close the day", "day closed"),
    ((ROOF,), "photo", "photo 1"),
    ((ROOF, "warm"), "understood", "understood, heat near systems"),
    (("wing ten mil",), "left", "side left"),
    ((ROOF,), "wing ten mil", "wing, one zero mil"),
)
"""What was said before, what is said then, and how it is named when it is taken back."""


def seen(state: State) -> object:
    """What a technician can see of the records."""
    return (state.jobs and {key: state.jobs[key] for key in state.jobs}, state.current, state.days_closed)


@pytest.mark.parametrize(("before", "said", "named"), SAID, ids=[said for _, said, _ in SAID])
def test_everything_said_is_taken_back_by_name_and_brought_back(
    before: tuple[str, ...], said: str, named: str, talk: Talk
) -> None:
    if before:
        talk.say(*before)
    was = seen(fold(talk.logbook.events()))
    talk.say(said)
    now = seen(fold(talk.logbook.events()))
    assert now != was
    # A caution that came up with it has an event of its own and stays.
    assert talk.say("scratch that").heard.answer == f"taken back: {named}"
    assert seen(talk.logbook.state) == was == seen(fold(talk.logbook.events()))
    assert talk.say("put that back").heard.answer == f"put back: {named}"
    assert seen(talk.logbook.state) == now


def test_an_accepted_quote_is_open_again_and_the_dent_stays(talk: Talk) -> None:
    """The reproduction of a lost dent: undo went past the acceptance."""
    talk.say("new job", "front left door steel fifteen mil shallow", "give quote", "quote accepted")
    assert talk.say("scratch that").heard.answer == "taken back: quote accepted"
    assert talk.say("total").heard.answer == "total £43.80"
    assert talk.job.quotes[0].accepted is None


@pytest.mark.parametrize("question", ["price", "total", "read back", "what is missing", "louder"])
def test_a_question_in_between_is_not_in_the_way(question: str, talk: Talk) -> None:
    talk.say("new job", "roof ten mil", question)
    assert talk.say("scratch that").heard.answer == "taken back: roof, one zero mil"


@pytest.mark.parametrize("refused", ["quote accepted", "go to dent seven", "discount ninety percent"])
def test_after_a_refusal_nothing_older_goes_in_silence(refused: str, talk: Talk) -> None:
    talk.say("new job", "roof ten mil", refused)
    outcome = talk.say("scratch that")
    assert outcome.heard.decision == "rejected"
    assert outcome.heard.answer == "nothing was taken down; once more takes back: roof, one zero mil"
    assert len(talk.dents()) == 1
    assert talk.say("scratch that").heard.answer == "taken back: roof, one zero mil"
    assert talk.dents() == []


def test_talk_in_the_room_is_not_what_was_said_last(talk: Talk) -> None:
    talk.say("new job", "roof ten mil")
    talk.hear("bonnet ten mil", 0.01, for_us=0.01)
    assert talk.say("scratch that").heard.answer == "taken back: roof, one zero mil"


def test_a_question_that_waits_is_what_was_said_last(talk: Talk) -> None:
    talk.say("new job", "roof ten mil")
    talk.hear("bonnet ten mil", 0.5)
    assert talk.say("scratch that").heard.answer == "taken back: bonnet, one zero mil"
    assert not talk.job.questions
    assert len(talk.dents()) == 1


def test_the_desk_takes_back_what_was_said_and_voice_what_was_done(talk: Talk) -> None:
    talk.say("new job", "roof twenty two dents ten mil")
    talk.hand(lambda c: split_dent(c, 1, 10))
    talk.hand(lambda c: set_slots(c, 2, {"depth": SlotValue("deep")}))
    assert talk.say("scratch that").heard.answer == "taken back: deep"
    assert talk.say("scratch that").heard.answer == "taken back: dent 2, one zero dents and 1 more"
    assert talk.hand(undo).answer == "taken back: roof, one zero mil, two two dents"
    assert talk.hand(undo).answer == "taken back: new job"
    assert talk.hand(undo).answer == "there is nothing to be taken back"
    assert talk.hand(lambda c: undo(c, redo=True)).answer == "put back: new job"


def test_a_memo_is_taken_back(talk: Talk) -> None:
    talk.say("new job", "roof ten mil", "memo")
    talk.dialogue.do(keep_memo(talk.dialogue.context(), "c0ffee"))
    assert len(talk.job.memos) == 1
    assert talk.say("scratch that").heard.answer == "taken back: memo"
    assert talk.job.memos == []


def test_the_clock_of_a_car_that_is_left_stands_still_until_that_is_taken_back(talk: Talk) -> None:
    talk.say("new job", "roof ten mil", "start work")
    assert talk.say("new job").heard.answer == "new job, work on job 1 paused"
    first, second = talk.logbook.state.jobs.values()
    assert (first.timer.state, second.timer.state) == ("paused", "idle")
    assert talk.say("scratch that").heard.answer == "taken back: pause work, new job"
    assert talk.job.timer.state == "running"
    assert talk.say("close the day").heard.answer == "day closed, work on job 1 stopped"
    assert talk.job.timer.state == "stopped"


def test_it_goes_on_after_the_journal_was_opened_anew(tmp_path: Path) -> None:
    def dialogue(logbook: Logbook) -> Dialogue:
        return Dialogue(logbook, network(), Region("GB"), CARD, now=lambda: NOON)

    with Logbook.open(tmp_path / "j.db") as logbook:
        for words in ("new job", "roof ten mil", "close the day", "quote accepted"):
            dialogue(logbook).take(Hypothesis(words, engine="typed"))
    answers = []
    for _ in range(3):
        with Logbook.open(tmp_path / "j.db") as logbook:
            answers.append(dialogue(logbook).take(Hypothesis("scratch that", engine="typed")).heard.answer)
            assert logbook.state.days_closed == ([] if len(answers) > 1 else ["2026-03-02"])
    assert answers == [
        "nothing was taken down; once more takes back: day closed",
        "taken back: day closed",
        "taken back: roof, one zero mil",
    ]


def record(talk: Talk) -> tuple[object, ...]:
    """What cannot be cleared as a field: clock, steps, risks, readings, memos of job and dent."""
    job, dent = talk.job, talk.job.dents[1]
    return (
        job.timer.state,
        round(job.timer.worked_s),
        [step.step for step in dent.steps],
        list(dent.risks),
        [reading.um.value for reading in dent.readings],
        [words for _, words, _ in job.memos],
    )


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("start work", ev.Timed),
        ("pull three times", ev.Stepped),
        ("crease may show", ev.RiskNoted),
        ("paint one four two", ev.Measured),
        ("memo", ev.MemoKept),
    ],
)
def test_one_thing_said_is_struck_at_the_desk_and_comes_back(said: str, kind: type, talk: Talk) -> None:
    """Long after it was said, while all that was said since stays."""
    talk.say(ROOF)
    before = record(talk)
    talk.say(said)
    if kind is ev.MemoKept:
        talk.hand(lambda c: keep_memo(c, None, "the keys are with the neighbour"))
    there = record(talk)
    assert there != before
    talk.say("correct length fifty mil")
    wrong = next(e for e in talk.logbook.counting(talk.job.id) if isinstance(e.body, kind))
    talk.hand(lambda c: strike(c, wrong))
    assert record(talk) == before
    assert talk.job.dents[1].get("length_mm") == 50
    assert fold(talk.logbook.events()).jobs == dict(talk.logbook.state.jobs)
    talk.hand(undo)
    assert record(talk) == there


def test_a_start_that_was_a_stop_and_minutes_that_were_wrong(talk: Talk) -> None:
    """The reproduction: "stop work" heard as "start work" stayed, and 2,041 s stood for 11."""
    talk.say(ROOF, "start work")
    assert isinstance(talk.logbook.clock, SteppedClock)
    talk.logbook.clock.wait(seconds=2041)
    talk.hand(lambda c: correct_time(c, 11))
    assert talk.job.timer.state == "running"
    assert talk.job.timer.worked_s == 11 * 60
    talk.logbook.clock.wait(minutes=5)
    talk.say("stop work")
    after = talk.job.timer.worked_s
    assert 660 + 300 <= after < 660 + 360  # The clock went on from there.
    assert talk.hand(lambda c: correct_time(c, 40)).answer == "worked 0 h 40 min"
    assert (talk.job.timer.state, talk.job.timer.worked_s) == ("stopped", 2400)
    assert talk.job.dents[1].worked_s == pytest.approx(2400)
    assert talk.hand(undo).answer == "taken back: worked 0 h 40 min"
    assert talk.job.timer.worked_s == after


def test_a_value_has_a_field_to_clear_and_is_not_struck(talk: Talk) -> None:
    talk.say(ROOF)
    noted = next(e for e in talk.logbook.counting(talk.job.id) if isinstance(e.body, ev.Noted))
    assert talk.hand(lambda c: strike(c, noted)).refused


def test_kept_words_become_a_value_or_stay(talk: Talk) -> None:
    talk.say(ROOF)
    talk.hand(lambda c: keep_words(c, ("rather deep one",)))
    kept = next(e for e in talk.logbook.counting(talk.job.id) if isinstance(e.body, ev.MemoKept))

    def heard(context: Context) -> Context:
        return replace(context, understand=lambda words: understand(words, Region("GB"), network()))

    talk.hand(lambda c: said_instead(heard(c), kept, "hello there my friend"))
    assert [words for _, words, _ in talk.job.memos][:1] == ["rather deep one"]
    talk.hand(lambda c: said_instead(heard(c), kept, "correct depth deep"))
    assert talk.job.dents[1].get("depth") == "deep"
    assert "rather deep one" not in [words for _, words, _ in talk.job.memos]
