"""One open question, one owner: heard, shown and answered are the same; the others wait, latest first."""

from __future__ import annotations

import pytest

from tests.actions.conftest import CARD, Talk
from voicelog.actions.answers import answer, drop, settle
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.doubts import doubts
from voicelog.journal import events as ev
from voicelog.meaning.note import Value

DOOR = "front left door steel forty mil shallow push open access"
ROOF = "roof steel sixty mil shallow push open access"


def waiting(talk: Talk) -> list[tuple[int | None, str]]:
    """What is asked about, the open question first."""
    return [(question.dent, question.slot) for question in talk.job.waiting]


class TestOneOwner:
    def test_what_is_heard_is_what_is_open(self, talk: Talk) -> None:
        heard = talk.hear("door fifteen mil", 0.6, ("door fifty mil", 0.38)).heard.question
        assert waiting(talk) == [(1, "length_mm"), (1, "end"), (1, "side")]
        for said in ("one five", "front", "left"):
            assert talk.job.question is not None
            assert heard == talk.job.question.text
            heard = talk.say(said).heard.question
        assert heard is None
        assert talk.dents() == [{"panel": "door", "end": "front", "side": "left", "length_mm": 15}]

    def test_the_latest_comes_first_and_the_one_before_is_heard_again(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.hear("bonnet thirty mil", 0.6, ("bonnet thirteen mil", 0.38))
        assert waiting(talk) == [(2, "length_mm"), (1, "length_mm")]
        assert talk.say("three zero").heard.answer == (
            "length three zero; dent 1, length: fifteen, one five; or fifty, five zero?"
        )
        assert talk.say("five zero").heard.answer == "dent 1, length five zero"
        assert [dent["length_mm"] for dent in talk.dents()] == [50, 30]

    def test_yes_settles_the_question_heard_last_and_no_older_one(self, talk: Talk) -> None:
        """As in the demo's morning, where "yes" settled another dent's body line."""
        talk.say(DOOR)
        talk.hear("body line", 0.6, ("rear body line", 0.39))
        talk.say("next dent bonnet ten mil")
        assert talk.say("left a pillar nine hundred mil").heard.question is not None
        talk.say("yes")
        assert talk.job.dents[3].fields["length_mm"].confirmed
        assert [slot for _, slot in waiting(talk)] == ["note"]
        assert "features" not in talk.job.dents[1].fields

    def test_an_answer_to_a_note_goes_to_the_dent_it_was_said_of(self, talk: Talk) -> None:
        talk.say(DOOR)
        talk.hear("body line", 0.6, ("rear body line", 0.39))
        talk.say("next dent bonnet ten mil", "yes")
        assert [dent.get("features") for dent in talk.dents()] == [["body-line"], None]


class TestDigits:
    def test_digits_never_fill_a_slot_of_words(self, talk: Talk) -> None:
        """ "left wing steel fifteen mil round shallow", heard a little unsure; then "one five"."""
        talk.hear("left wing steel fifteen mil round shallow", 0.9)
        assert talk.say("one five").heard.answer == "length one five"
        assert talk.dents()[0]["depth"] == "shallow"
        assert talk.dents()[0]["length_mm"] == 15

    @pytest.mark.parametrize(("said", "asked"), [("wing ten mil", "side"), ("door ten mil", "end")])
    def test_digits_to_a_question_of_words_are_asked_again(self, said: str, asked: str, talk: Talk) -> None:
        question = talk.say(said).heard.question
        outcome = talk.say("four zero")
        assert (outcome.heard.decision, outcome.heard.question) == ("asked", question)
        assert asked not in talk.dents()[0]
        assert talk.dents()[0]["length_mm"] == 10
        assert talk.job.dents[1].fields["length_mm"].confirmed

    def test_digits_for_a_whole_note_never_reach_another_dent(self, talk: Talk) -> None:
        talk.say(DOOR)
        talk.hear(ROOF, 0.5)
        talk.say("six zero")
        assert [(dent["panel"], dent["length_mm"]) for dent in talk.dents()] == [("door", 40), ("roof", 60)]
        assert talk.job.dents[1].unconfirmed == []

    def test_digits_that_fit_no_choice_change_nothing(self, talk: Talk) -> None:
        talk.say(DOOR)
        heard = talk.hear(ROOF, 0.5).heard.question
        outcome = talk.say("four five")
        assert (outcome.heard.decision, outcome.heard.question) == ("asked", heard)
        assert [dent["length_mm"] for dent in talk.dents()] == [40]

    def test_a_size_said_on_another_panel_is_no_answer(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("bonnet fifteen mil")
        assert talk.job.dents[1].fields["length_mm"].choices == (15, 50)
        assert talk.dents()[1] == {"panel": "bonnet", "length_mm": 15}

    def test_a_size_said_of_the_open_dent_is_no_answer_for_another(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("bonnet", "fifteen mil")
        assert talk.job.dents[1].fields["length_mm"].choices == (15, 50)
        assert talk.dents()[1] == {"panel": "bonnet", "length_mm": 15}


class TestAsked:
    """ "asked" always asks something that can be answered; a refusal is rejected, with a reason to hear."""

    @pytest.mark.parametrize(
        ("before", "said", "answer"),
        [
            ("new job", "fuel flap left ten mil", "fuel flap has no left and right"),
            ("roof ten mil", "go to dent seven", "there is no dent 7"),
            ("roof ten mil", "quote accepted", "no quote was given yet"),
            ("roof ten mil", "yes", "nothing was asked"),
            ("roof ten mil", "discount ninety percent", "the card allows 12 percent at most"),
            ("new job", "same again", "there is no dent to copy yet"),
        ],
    )
    def test_a_refusal_is_no_question(self, before: str, said: str, answer: str, talk: Talk) -> None:
        heard = talk.say(before, said).heard
        assert (heard.decision, heard.question, heard.answer) == ("rejected", None, answer)
        assert heard.reason

    @pytest.mark.parametrize(
        "said", ["wing ten mil", "left a pillar nine hundred mil", "paint nine nine nine nine"]
    )
    def test_a_question_waits_for_its_answer(self, said: str, talk: Talk) -> None:
        heard = talk.say(said).heard
        assert heard.decision == "asked"
        assert talk.job.question is not None
        assert heard.question == talk.job.question.text


class TestRange:
    """Asked values and asked notes are in the range of the total until they are settled."""

    @pytest.mark.parametrize(("words", "other"), [("body line", "rear body line"), (ROOF, None)])
    def test_every_answer_is_within_the_range(self, words: str, other: str | None, talk: Talk) -> None:
        talk.say(DOOR)
        alone = talk.estimate.total
        talk.hear(words, 0.5, *([] if other is None else [(other, 0.45)]))
        asked = talk.estimate
        assert not asked.confirmed
        assert not asked.total.settled
        assert [item.slot for item in asked.unsettled] == ["note"]
        counted = [line.amount for line in asked.lines if line.amount is not None and line.counts]
        assert sum(amount.low for amount in counted) == asked.total.low
        assert sum(amount.high for amount in counted) == asked.total.high
        assert talk.job.question is not None
        possible = [alone]
        for choice in talk.job.question.choices:
            context = talk.context()
            after = context.after(answer(context, talk.job.question.id, choice)).job
            assert after is not None
            possible.append(price_job(after, CARD).total)
        assert asked.total.low == min(total.low for total in possible)
        assert asked.total.high == max(total.high for total in possible)

    def test_a_later_question_does_not_drop_the_earlier_one(self, talk: Talk) -> None:
        talk.say(DOOR)
        talk.hear("body line", 0.6, ("rear body line", 0.39))
        first = talk.estimate.total
        talk.hear(ROOF, 0.5)
        assert talk.estimate.total.high > first.high
        talk.say("no")
        assert talk.estimate.total == first
        talk.say("yes")
        assert talk.estimate.confirmed
        assert talk.estimate.total.high == first.high

    def test_what_was_said_is_not_in_the_price(self, talk: Talk) -> None:
        """Words may name the customer; the price and what a quote keeps of it hold figures only."""
        talk.say(DOOR)
        talk.hear("roof sixty mil", 0.5)
        assert [item.text() for item in talk.estimate.unsettled] == ["job: note roof, six zero mil"]
        asked = [event.body for event in talk.logbook.events() if isinstance(event.body, ev.Asked)]
        assert '"words"' not in str(asked[-1].would)

    def test_a_discount_in_doubt_is_settled_by_its_answer(self, talk: Talk) -> None:
        talk.say(DOOR)
        talk.hear("discount fifteen percent", 0.6, ("discount five percent", 0.38))
        assert talk.estimate.total.low < talk.estimate.total.high
        assert talk.say("one five").heard.answer == "the card allows 12 percent at most"
        talk.say("five")
        assert talk.job.discount_percent == 5
        assert talk.estimate.confirmed


class TestDrop:
    def test_to_drop_a_question_does_not_confirm_the_first_guess(self, talk: Talk) -> None:
        talk.hear("roof steel fifteen mil shallow push open access", 0.6,
                  ("roof steel fifty mil shallow push open access", 0.38))  # fmt: skip
        before = talk.estimate.total
        talk.hand(lambda c: drop(c, talk.job.question.id if talk.job.question else ""))
        assert not talk.job.questions
        assert talk.job.dents[1].unconfirmed == ["length_mm"]
        assert talk.estimate.total == before
        assert not talk.estimate.confirmed
        talk.hand(lambda c: settle(c, 1, "length_mm", 50))
        assert talk.estimate.confirmed

    def test_nothing_open_is_a_refusal(self, talk: Talk) -> None:
        talk.say(DOOR)
        assert talk.hand(lambda c: drop(c, "")).answer == "no question is open"


class TestDoubtsOfAJob:
    """What belongs to no dent can be seen and settled too."""

    @pytest.mark.parametrize(
        ("words", "other", "slot", "right"),
        [
            ("reference one one eight", "reference one one eight eight", "reference_um", 118),
            ("discount fifteen percent", "discount five percent", "discount_percent", 5),
        ],
    )
    def test_it_is_listed_and_settled(
        self, words: str, other: str, slot: str, right: Value, talk: Talk
    ) -> None:
        talk.say(DOOR, "paint one two zero")
        talk.hear(words, 0.6, (other, 0.38))
        (doubt,) = doubts(talk.job)
        assert (doubt.dent, doubt.slot) == (None, slot)
        assert right in doubt.choices
        assert not talk.estimate.confirmed or slot == "reference_um"
        assert doubt.question is not None
        question = doubt.question
        talk.hand(lambda c: answer(c, question, right))
        assert doubts(talk.job) == ()

    def test_a_plate_in_doubt_is_listed_also_when_its_question_was_dropped(self, talk: Talk) -> None:
        talk.say("new job plate alfa bravo one two charlie delta quebec")
        (doubt,) = doubts(talk.job)
        talk.hand(lambda c: drop(c, doubt.question or ""))
        (still,) = doubts(talk.job)
        assert (still.slot, still.question) == ("plate", None)
        talk.hand(lambda c: settle(c, None, "plate", still.choices[0]))
        assert doubts(talk.job) == ()
        assert talk.job.get("plate") == "AB12CDQ"


def test_a_quote_asks_again_about_a_note_that_still_widens_the_price(talk: Talk) -> None:
    talk.say(DOOR)
    talk.hear("body line", 0.6, ("rear body line", 0.39))
    before = price_job(talk.job, CARD).total
    talk.say("give quote")
    assert price_job(talk.job, CARD).total == before
    assert not before.settled


class TestPutOff:
    """`[listening] questions = "review"`: in noise the tone tells that something waits; nothing is asked."""

    def test_a_doubt_waits_and_the_next_words_are_no_answer(self, talk: Talk) -> None:
        talk.dialogue.puts_off = True
        heard = talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38)).heard
        assert (heard.decision, heard.question, heard.answer) == ("asked", None, "roof, one five mil")
        assert waiting(talk) == [(1, "length_mm")]
        assert talk.say("yes").heard.decision == "rejected"
        assert talk.job.dents[1].fields["length_mm"].choices == (15, 50)
        talk.hand(lambda context: settle(context, 1, "length_mm", 50))  # At the desk it is settled.
        assert waiting(talk) == []
        assert talk.dents()[0]["length_mm"] == 50

    def test_a_whole_note_waits_too(self, talk: Talk) -> None:
        talk.say(DOOR)
        talk.dialogue.puts_off = True
        heard = talk.hear(ROOF, 0.5).heard
        assert (heard.decision, heard.question, heard.answer) == ("asked", None, "kept for the review")
        assert waiting(talk) == [(None, "note")]
        assert len(talk.dents()) == 1

    def test_what_contradicts_the_state_is_asked_all_the_same(self, talk: Talk) -> None:
        talk.dialogue.puts_off = True
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("start work")
        assert talk.say("start work").heard.question is not None
        assert talk.say("yes").heard.answer == "start work"
        assert waiting(talk) == [(1, "length_mm")]


class TestNotTwice:
    def test_a_value_that_was_confirmed_is_not_asked_about_again(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("one five")
        again = talk.hear("correct length fifteen mil", 0.6, ("correct length fifty mil", 0.38)).heard
        assert (again.question, again.answer) == (None, "that stands there already: one five mil")
        assert talk.hear("fifteen mil", 0.6, ("fifty mil", 0.38)).heard.decision == "accepted"
        assert waiting(talk) == []
        assert talk.job.dents[1].fields["length_mm"].confirmed

    def test_another_value_still_is(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("one five")
        assert talk.say("fifty mil").heard.decision == "asked"


def test_a_tool_said_with_a_dent_is_kept_and_said(talk: Talk) -> None:
    assert talk.say("roof steel thirty mil push long rod").heard.answer.endswith("push, kept: long rod")
    assert [words for _, words, _ in talk.job.memos] == ["long rod"]
