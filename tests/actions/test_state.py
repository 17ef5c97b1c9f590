"""What contradicts the state of the job is asked about: yes does it, no leaves all as it is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.actions.conftest import Talk
from tests.jobs.mini_jobs import SteppedClock
from voicelog.actions.jobs_and_quotes import finish

ROOF = "roof steel thirty mil shallow open access push"
PLATE = "plate alfa bravo one two charlie delta echo"
VIN = "vin one mike eight golf delta mike nine alfa x-ray kilo papa zero four two seven double eight"
"""1M8GDM9AXKP042788, the worked example of a check digit in 49 CFR 565 (from memory)."""


def later(talk: Talk, minutes: int) -> None:
    """Let time pass."""
    clock = talk.logbook.clock
    assert isinstance(clock, SteppedClock)
    clock.wait(minutes=minutes)


class TestClock:
    def test_start_while_it_runs(self, talk: Talk) -> None:
        talk.say(ROOF, "start work")
        since = talk.job.timer.running_since
        later(talk, 12)
        asked = talk.say("start work").heard
        assert since is not None
        assert asked.decision == "asked"
        assert asked.question == f"the clock is running since {since[11:16]}; start anew?"
        assert talk.job.timer.running_since == since
        assert talk.say("yes").heard.decision == "accepted"
        assert talk.answer == "start work"
        assert talk.job.timer.running_since != since
        assert talk.job.timer.worked_s == 12 * 60  # What was worked before is kept.
        assert talk.job.waiting == []

    def test_the_day_is_named_where_it_is_not_today(self, talk: Talk) -> None:
        """A clock forgotten overnight: the talk is noted on 2 March 2026, a Monday."""
        talk.say(ROOF, "start work")
        change = finish(replace(talk.context(), now=talk.context().now.replace(day=3)))
        assert change.question is not None
        assert change.question.startswith("the clock is running since Monday ")

    @pytest.mark.parametrize(
        ("before", "said", "question"),
        [
            ((), "stop work", "the clock was not started yet; start it?"),
            ((), "pause work", "the clock was not started yet; start it?"),
            ((), "resume work", "the clock was not started yet; start it?"),
            (("start work", "stop work"), "stop work", "the clock is not running; start it?"),
            (("start work", "pause work"), "pause work", "the clock is not running; start it?"),
        ],
    )
    def test_what_it_cannot_do(self, before: tuple[str, ...], said: str, question: str, talk: Talk) -> None:
        talk.say(ROOF, *before)
        state = talk.job.timer.state
        assert talk.say(said).heard.question == question
        assert talk.job.timer.state == state
        talk.say("no")
        assert (talk.answer, talk.job.timer.state) == ("left as it is", state)
        talk.say(said, "yes")
        assert talk.job.timer.state == "running"

    def test_another_order_to_the_clock_settles_it(self, talk: Talk) -> None:
        talk.say(ROOF, "start work", "start work", "stop work")
        assert (talk.job.timer.state, talk.job.waiting) == ("stopped", [])
        assert talk.say("yes").heard.decision == "rejected"

    def test_the_same_order_again_is_yes(self, talk: Talk) -> None:
        talk.say(ROOF, "start work", "start work", "start work")
        assert (talk.job.timer.state, talk.job.waiting) == ("running", [])

    def test_scratch_that_takes_the_yes_back(self, talk: Talk) -> None:
        talk.say(ROOF, "start work")
        since = talk.job.timer.running_since
        later(talk, 12)
        talk.say("start work", "yes", "scratch that")
        assert talk.job.timer.running_since == since


class TestFinish:
    def test_it_is_asked_while_the_clock_runs(self, talk: Talk) -> None:
        talk.say(ROOF, "start work")
        assert talk.say("job finished").heard.decision == "asked"
        assert talk.answer.endswith("; stop it and finish the job?")
        assert (talk.job.finished_at, talk.job.timer.state) == (None, "running")
        talk.say("yes")
        assert talk.answer.endswith(", clock stopped")
        assert talk.job.finished_at is not None
        assert talk.job.timer.state == "stopped"
        assert "no-open-question" not in talk.job.gaps

    def test_the_setting_closes_it(self, talk: Talk) -> None:
        talk.dialogue.closes_clock = True
        talk.say(ROOF, "start work")
        assert talk.say("job finished").heard.decision == "accepted"
        assert talk.answer.endswith(", clock stopped")
        assert talk.job.timer.state == "stopped"


@pytest.mark.parametrize("known", [PLATE, VIN])
@pytest.mark.parametrize("begin", ["", "new job "])
def test_a_plate_or_vin_of_another_open_job_goes_there(known: str, begin: str, talk: Talk) -> None:
    talk.say(f"new job {known}", ROOF, "new job")
    assert talk.say(f"{begin}{known}").heard.question == "that is job 1, still open; go to job 1?"
    assert (talk.job.number, talk.job.details) == (2, {})
    talk.say("yes")
    assert talk.job.number == 1
    assert talk.logbook.state.job is not None
    assert len(talk.logbook.state.jobs) == 2
    assert all(job.waiting == [] for job in talk.logbook.state.jobs.values())
