"""What the session makes of notes: where they go, what is asked, what answers settle."""

from __future__ import annotations

import pytest

from tests.session.conftest import Talk

DOOR = {"panel": "door", "end": "front", "side": "left", "length_mm": 35}


class TestDamage:
    def test_first_note_opens_a_job_of_its_own(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert talk.job.number == 1
        assert talk.dents() == [{"panel": "roof", "length_mm": 10}]

    def test_slots_in_pieces_fill_the_open_dent(self, talk: Talk) -> None:
        talk.say("front left door", "thirty five mil", "shallow", "push")
        assert talk.dents() == [{**DOOR, "depth": "shallow", "method": "push"}]

    def test_another_panel_opens_the_next_dent(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "roof ten mil")
        assert talk.dents() == [DOOR, {"panel": "roof", "length_mm": 10}]

    def test_another_side_of_the_same_panel_opens_the_next_dent(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "front right door ten mil")
        assert [dent["side"] for dent in talk.dents()] == ["left", "right"]

    def test_next_dent_opens_one_on_the_same_panel(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "next dent front left door thirty five mil")
        assert talk.dents() == [DOOR, DOOR]

    def test_the_same_panel_with_another_size_is_another_dent(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "front left door ten mil")
        assert [dent["length_mm"] for dent in talk.dents()] == [35, 10]

    def test_the_very_same_note_is_refused_and_not_lost_in_silence(self, talk: Talk) -> None:
        outcome = talk.say("front left door thirty five mil", "front left door thirty five mil")
        assert outcome.heard.decision == "rejected"
        assert "next dent" in outcome.heard.answer
        assert talk.dents() == [DOOR]

    def test_second_value_is_asked_about_and_keeps_both_until_answered(self, talk: Talk) -> None:
        outcome = talk.say("front left door thirty five mil", "fifty mil")
        assert outcome.heard.decision == "asked"
        assert talk.job.dents[1].fields["length_mm"].choices == (35, 50)
        talk.say("five zero")
        assert talk.job.dents[1].get("length_mm") == 50
        assert talk.job.dents[1].unconfirmed == []
        assert not talk.job.questions

    def test_paired_panel_asks_for_its_side_and_an_answer_fills_it(self, talk: Talk) -> None:
        outcome = talk.say("wing ten mil")
        assert outcome.heard.question == "wing: left or right?"
        talk.say("left")
        assert talk.dents() == [{"panel": "wing", "side": "left", "length_mm": 10}]
        assert not talk.job.questions

    def test_door_asks_for_end_and_side(self, talk: Talk) -> None:
        talk.say("door ten mil")
        assert {question.slot for question in talk.job.questions.values()} == {"end", "side"}
        talk.say("left", "rear")
        assert talk.dents() == [{"panel": "door", "end": "rear", "side": "left", "length_mm": 10}]

    def test_side_on_a_panel_that_exists_once_changes_nothing(self, talk: Talk) -> None:
        talk.say("new job")
        outcome = talk.say("fuel flap left ten mil")
        assert outcome.heard.decision == "rejected"
        assert outcome.heard.answer == "fuel flap has no left and right"
        assert "fuel flap" in outcome.heard.reason
        assert talk.dents() == []

    def test_same_again_copies_to_the_other_side(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "same again on the right")
        assert talk.dents() == [DOOR, {**DOOR, "side": "right"}]

    def test_same_again_without_a_dent_is_refused(self, talk: Talk) -> None:
        talk.say("new job")
        assert talk.say("same again").heard.answer == "there is no dent to copy yet"

    def test_belongs_to(self, talk: Talk) -> None:
        talk.say("front left door thirty five mil", "next dent belongs to dent one high")
        assert talk.dents()[1] == {"shape": "high", "belongs_to": 1}

    def test_count_note(self, talk: Talk) -> None:
        talk.say("roof twenty two dents ten mil")
        assert talk.dents() == [{"panel": "roof", "length_mm": 10, "count": 22}]


class TestDoubt:
    def test_alternative_of_the_engine_is_asked_about(self, talk: Talk) -> None:
        outcome = talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        assert outcome.heard.decision == "asked"
        assert outcome.heard.question == "length: fifteen, one five; or fifty, five zero?"
        assert talk.job.dents[1].fields["length_mm"].choices == (15, 50)

    @pytest.mark.parametrize("said", ["one five", "fifteen", "fifteen mil", "roof fifteen mil"])
    def test_answers_that_settle(self, talk: Talk, said: str) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        outcome = talk.say(said)
        assert outcome.heard.decision == "accepted"
        assert talk.dents() == [{"panel": "roof", "length_mm": 15}]
        assert talk.job.dents[1].unconfirmed == []
        assert not talk.job.questions

    def test_open_question_never_blocks(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("bonnet ten mil")
        assert talk.dents()[1] == {"panel": "bonnet", "length_mm": 10}
        assert talk.job.dents[1].unconfirmed == ["length_mm"]
        assert len(talk.job.questions) == 1

    def test_unlikely_number_is_asked_and_no_clears_it(self, talk: Talk) -> None:
        talk.say("left a pillar")
        outcome = talk.say("nine hundred mil")
        assert outcome.heard.decision == "asked"
        talk.say("no")
        assert "length_mm" not in talk.dents()[0]

    def test_unsure_note_waits_and_changes_nothing(self, talk: Talk) -> None:
        talk.say("new job")
        assert talk.hear("roof ten mil", 0.5).heard.decision == "asked"
        assert talk.dents() == []
        talk.say("yes")
        assert talk.dents() == [{"panel": "roof", "length_mm": 10}]

    def test_no_to_two_notes_takes_the_second(self, talk: Talk) -> None:
        talk.say("roof ten mil", "start work")
        talk.hear("pause work", 0.6, ("stop work", 0.35))
        assert talk.job.timer.state == "running"
        talk.say("no")
        assert talk.job.timer.state == "stopped"

    @pytest.mark.parametrize(("answer", "left"), [("yes", [DOOR]), ("no", [])])
    def test_note_not_heard_clearly_stands_unconfirmed_until_answered(
        self, talk: Talk, answer: str, left: list[dict[str, object]]
    ) -> None:
        talk.say("new job")
        outcome = talk.hear("front left door thirty five mil", 0.8)
        assert outcome.heard.decision == "asked"
        assert outcome.heard.question == "front left door, three five mil: is that right?"
        assert talk.dents() == [DOOR]
        assert talk.job.dents[1].unconfirmed
        assert "not settled" in talk.say("total").heard.answer
        talk.say(answer)
        assert talk.dents() == left
        assert not talk.job.questions
        assert not any(dent.unconfirmed for dent in talk.job.listed())

    def test_a_reading_not_heard_clearly_stands_unconfirmed(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert talk.hear("paint one four two", 0.8).heard.decision == "asked"
        assert not talk.job.dents[1].readings[0].um.confirmed
        talk.say("yes")
        assert talk.job.dents[1].readings[0].um.confirmed

    def test_unsure_notes_wait_latest_first_and_the_same_one_waits_once(self, talk: Talk) -> None:
        talk.say("new job")
        for words in ("roof ten mil", "bonnet ten mil", "tailgate ten mil", "roof ten mil"):
            talk.hear(words, 0.5)
        waiting = [q.choices for q in talk.job.waiting]
        assert waiting == [("roof ten mil",), ("tailgate ten mil",), ("bonnet ten mil",)]
        assert talk.say("yes").heard.answer == "roof, one zero mil; tailgate, one zero mil: is that right?"
        talk.say("no", "yes")
        assert [dent["panel"] for dent in talk.dents()] == ["roof", "bonnet"]

    def test_the_first_figures_of_a_choice_settle_nothing(self, talk: Talk) -> None:
        talk.hear("left wing steel fifteen mil", 0.8, ("left wing steel fifty mil", 0.2))
        assert talk.hear("one").heard.decision == "asked"
        assert talk.job.dents[1].fields["length_mm"].slot.alternatives == (50,)
        talk.hear("one five")
        assert talk.job.dents[1].fields["length_mm"].choices == (15,)

    def test_what_the_clock_cannot_do_is_no_second_reading(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert talk.hear("start work", 0.9, ("stop work", 0.1)).heard.decision == "accepted"
        assert talk.hear("stop work", 0.9, ("start work", 0.1)).heard.decision == "accepted"
        assert talk.job.timer.state == "stopped"

    def test_a_clock_that_could_do_both_is_asked_about(self, talk: Talk) -> None:
        talk.say("roof ten mil", "start work", "pause")
        assert talk.hear("stop work", 0.9, ("start work", 0.1)).heard.decision == "asked"
        assert talk.job.timer.state == "paused"

    def test_sound_that_is_not_for_us_changes_nothing(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        before = talk.dents()
        assert talk.hear("bonnet ten mil", 0.01, for_us=0.01).heard.decision == "rejected"
        assert talk.hear("", 0.0).heard.decision == "rejected"
        assert talk.dents() == before


class TestRepair:
    def test_correct_and_history(self, talk: Talk) -> None:
        talk.say("roof ten mil", "correct length fifty mil")
        field = talk.job.dents[1].fields["length_mm"]
        assert [past.value for past in field.history] == [10, 50]

    def test_undo_repeatedly_and_redo(self, talk: Talk) -> None:
        talk.say("roof ten mil", "shallow", "push")
        talk.say("scratch that", "scratch that")
        assert talk.dents() == [{"panel": "roof", "length_mm": 10}]
        talk.say("put that back")
        assert talk.dents() == [{"panel": "roof", "length_mm": 10, "depth": "shallow"}]

    def test_nothing_to_undo(self, talk: Talk) -> None:
        outcome = talk.say("scratch that")
        assert (outcome.heard.decision, outcome.heard.answer) == (
            "rejected",
            "there is nothing to be taken back",
        )

    def test_go_to_remove_restore(self, talk: Talk) -> None:
        talk.say("roof ten mil", "bonnet ten mil", "go to dent one", "shallow")
        assert talk.dents()[0]["depth"] == "shallow"
        talk.say("remove dent one")
        assert [dent["panel"] for dent in talk.dents()] == ["bonnet"]
        talk.say("restore dent one")
        assert [dent["panel"] for dent in talk.dents()] == ["roof", "bonnet"]

    def test_a_dent_that_is_not_there(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert "no dent 7" in talk.say("go to dent seven").heard.answer

    def test_correct_an_answer_already_given(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        talk.say("one five", "correct length fifty mil")
        assert talk.job.dents[1].get("length_mm") == 50

    def test_reading_is_corrected(self, talk: Talk) -> None:
        talk.say("roof ten mil", "paint one four two", "correct paint one two four")
        assert [reading.um.value for reading in talk.job.dents[1].readings] == [124]


class TestWork:
    def test_readings_go_to_dent_and_reference(self, talk: Talk) -> None:
        talk.say("roof ten mil", "paint one four two reference one three eight")
        assert [reading.um.value for reading in talk.job.dents[1].readings] == [142]
        assert [reading.um.value for reading in talk.job.references] == [138]

    def test_a_lone_push_is_a_method_before_work_and_a_step_in_it(self, talk: Talk) -> None:
        talk.say("roof ten mil", "push", "start work", "push")
        assert talk.dents()[0]["method"] == "push"
        assert [step.step for step in talk.job.dents[1].steps] == ["push"]

    def test_customer_told_covers_all_noted_risks(self, talk: Talk) -> None:
        talk.say("roof ten mil", "crease may show", "paint may lift", "customer told")
        assert [risk for risk, _ in talk.job.told] == ["crease-may-show", "paint-may-lift"]

    def test_told_without_a_risk_is_refused(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert talk.say("customer told").heard.answer == "told what? say the risk"

    def test_quote_keeps_its_figures(self, talk: Talk) -> None:
        talk.say("roof steel ten mil", "give quote", "bonnet fifty mil", "quote accepted")
        quote = talk.job.quotes[0]
        assert quote.accepted is True
        assert len(quote.snapshot["damages"]) == 1

    def test_discount_over_the_limit_of_the_card_is_refused(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert talk.say("discount ninety percent").heard.decision == "rejected"
        assert talk.job.discount_percent == 0

    def test_finished_records_what_is_missing(self, talk: Talk) -> None:
        talk.say("roof ten mil", "job finished")
        assert "material:1" in talk.job.gaps

    def test_plate_with_a_new_job(self, talk: Talk) -> None:
        talk.say("new job plate alfa bravo two six kilo lima mike")
        assert talk.job.get("plate") == "AB26KLM"


class TestEar:
    def test_asleep_only_the_wake_phrase_is_taken(self, talk: Talk) -> None:
        talk.say("roof ten mil", "stop listening")
        outcome = talk.say("bonnet ten mil")
        assert not outcome.committed
        assert len(talk.dents()) == 1
        talk.say("start listening", "bonnet ten mil")
        assert len(talk.dents()) == 2

    def test_photo_marks_are_numbered(self, talk: Talk) -> None:
        talk.say("roof ten mil", "photo", "photo")
        assert [number for number, _, _ in talk.job.photos] == [1, 2]

    def test_caution_is_given_once_and_acknowledged(self, talk: Talk) -> None:
        talk.say("roof ten mil")
        assert [caution.id for caution in talk.say("warm").cautions] == ["heat-near-systems"]
        assert talk.say("warm").cautions == ()
        talk.say("understood")
        assert talk.job.cautions == {"heat-near-systems": True}


class TestQuestions:
    @pytest.mark.parametrize("question", ["read back", "price", "total", "time", "what is missing"])
    def test_change_nothing_and_are_answered(self, talk: Talk, question: str) -> None:
        talk.say("roof ten mil")
        before = talk.dents()
        outcome = talk.say(question)
        assert outcome.heard.decision == "accepted"
        assert outcome.heard.answer
        assert talk.dents() == before

    def test_total_is_a_range_while_a_value_is_open(self, talk: Talk) -> None:
        talk.hear("roof fifteen mil", 0.6, ("roof fifty mil", 0.38))
        answer = talk.say("total").heard.answer
        assert " to £" in answer
        assert "not settled" in answer
