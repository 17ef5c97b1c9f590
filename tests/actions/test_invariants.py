"""What holds whatever was said, on conversations drawn at random."""

from __future__ import annotations

from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.actions.conftest import CARD, Talk, new_talk
from voicelog.actions.answers import answer
from voicelog.actions.undo import undo
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.fold import fold

TYPED = (
    "new job", "front left door steel forty mil shallow push open access", "roof steel thirty mil",
    "wing ten mil", "next dent bonnet twelve mil", "door", "left", "rear", "deep", "fifty mil",
    "body line", "aluminium", "left a pillar nine hundred mil", "same again", "one five", "five zero",
    "yes", "no", "paint one four two", "paint two six zero magnetic probe", "reference one three eight",
    "correct length fifteen mil", "clear depth", "go to dent one", "remove dent two", "restore dent two",
    "crease may show", "customer told", "start work", "pull three times", "stop work",
    "discount five percent", "give quote", "quote accepted", "job finished", "close the day", "photo",
    "price", "scratch that", "put that back",
)  # fmt: skip
HEARD = (
    ("roof steel fifteen mil", 0.6, ("roof steel fifty mil", 0.38)),
    ("thirty mil", 0.6, ("thirteen mil", 0.38)),
    ("body line", 0.6, ("rear body line", 0.39)),
    ("bonnet ten mil", 0.5),
    ("quarter left sixty mil deep", 0.8),
    ("start work", 0.6, ("stop work", 0.38)),
    ("discount ten percent", 0.6, ("discount two percent", 0.38)),
)
Said = str | tuple[object, ...]


def take(talk: Talk, said: Said) -> None:
    """Type it, or hear it unsurely."""
    if isinstance(said, str):
        talk.say(said)
    else:
        talk.hear(*said)  # type: ignore[arg-type]


SAID = st.lists(st.sampled_from([*TYPED, *HEARD]), min_size=1, max_size=12)


@settings(max_examples=60, deadline=None)
@given(SAID)
def test_what_is_asked_is_the_open_question(lines: list[Said]) -> None:
    talk = new_talk()
    for said in lines:
        take(talk, said)
        heard = talk.outcomes[-1].heard
        assert (heard.decision == "asked") <= (heard.question is not None)
        job = talk.logbook.state.job
        if heard.question is not None and not heard.question.startswith("say correct"):
            assert job is not None
            assert job.question is not None
            assert heard.question.endswith(job.question.text)
        assert heard.answer or heard.decision == "accepted"


@settings(max_examples=40, deadline=None)
@given(SAID)
# The reading opens the dent that the note, asked before it, goes on with.
@example(["new job", ("bonnet ten mil", 0.5), "paint two six zero magnetic probe"])
@example(["left", ("bonnet ten mil", 0.5), "give quote"])  # A quote asks once more, by the same choices.
def test_every_answer_to_the_open_question_is_within_the_range(lines: list[Said]) -> None:
    talk = new_talk()
    for said in lines:
        take(talk, said)
    job = talk.logbook.state.job
    if job is None or job.question is None:
        return
    before = price_job(job, CARD).total
    for choice in job.question.choices:
        context = talk.context()
        change = answer(context, job.question.id, choice)
        after = context.after(change).job
        assert after is not None
        total = price_job(after, CARD).total
        if not change.refused and after.id == job.id:
            assert before.low <= total.low
            assert total.high <= before.high


@settings(max_examples=40, deadline=None)
@given(SAID)
def test_all_is_taken_back_and_brought_back(lines: list[Said]) -> None:
    talk = new_talk()
    for said in lines:
        take(talk, said)
    state = fold(talk.logbook.events())
    steps = len(state.undoable)
    for _ in range(steps):
        assert talk.hand(undo).answer.startswith("taken back: ")
    empty = talk.logbook.state
    assert (dict(empty.jobs), empty.current, empty.days_closed) == ({}, None, [])
    for _ in range(steps):
        assert talk.hand(lambda context: undo(context, redo=True)).answer.startswith("put back: ")
    again = talk.logbook.state
    assert {key: again.jobs[key] for key in again.jobs} == {key: state.jobs[key] for key in state.jobs}
    assert (again.current, again.days_closed) == (state.current, state.days_closed)
