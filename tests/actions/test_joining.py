"""Two jobs that are one car: one price, one invoice, both records kept, however journals meet."""

from __future__ import annotations

from decimal import Decimal
from itertools import count, permutations
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.actions.conftest import CARD, NOON, Talk
from tests.jobs.mini_jobs import SteppedClock, network
from voicelog.actions.change import Context
from voicelog.actions.joining import join, may_be_one
from voicelog.estimate.estimate import Range
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.meaning.region import Region
from voicelog.session.dialogue import Dialogue

PLATE = "plate alfa bravo two six kilo lima mike"
ROOF = "roof steel thirty mil shallow push open access"
BONNET = "bonnet steel thirty mil shallow push open access"
JOIN = "join job two to job one"


def parts(talk: Talk) -> list[tuple[int, bool, list[int]]]:
    """(number, whether it is part of another, numbers of its dents) of every job."""
    jobs = talk.logbook.state.jobs.values()
    return [(job.number, job.joined_to is not None, [dent.number for dent in job.listed()]) for job in jobs]


def test_two_jobs_of_one_car_are_one_invoice(talk: Talk) -> None:
    """24 min each at 66 an hour: 26.40; one call-out of 20: (2 × 26.40 + 20) × 1.2 = 87.36."""
    talk.say(f"new job {PLATE}", ROOF, "new job", BONNET, "deposit ten cash", JOIN)
    assert talk.answer == "Job 2 joined to Job 1 AB26KLM"
    assert parts(talk) == [(1, False, [1, 2]), (2, True, [1])]
    assert talk.estimate.total == Range.of(Decimal("87.36"))
    assert "part of job 1" in talk.say("go to job two").heard.answer
    talk.say("invoice it", "paid cash")
    assert talk.answer == "paid £77.36 cash, all paid"


def test_an_accepted_quote_of_each_stays_agreed(talk: Talk) -> None:
    talk.say("new job", ROOF, "give quote", "quote accepted", "new job", BONNET)
    talk.say("give quote", "quote accepted", JOIN)
    assert [(q.version, q.supplement_to, q.accepted) for q in talk.job.quotes] == [
        (1, None, True),
        (2, 1, True),
    ]
    assert [line["text"][:6] for line in talk.job.quotes[1].snapshot["lines"]][:1] == ["Dent 2"]
    talk.say("invoice it")  # the second call-out was agreed too, and is now in neither estimate
    assert "is not agreed" in talk.answer
    talk.say("give quote", "quote accepted", "invoice it")
    assert talk.job.issued[0].snapshot["total"]["low"] == "87.36"


def test_joining_is_taken_back(talk: Talk) -> None:
    talk.say("new job", ROOF, "new job", BONNET)
    before = parts(talk)
    talk.say(JOIN, "scratch that")
    assert talk.answer == "taken back: jobs joined, another job"
    assert (parts(talk), talk.job.number) == (before, 2)
    talk.say("put that back")
    assert parts(talk)[1][1]


def test_hours_and_what_is_said_later(talk: Talk) -> None:
    talk.say("new job", ROOF, "start work", "new job", BONNET, "start work", "stop work")
    worked = [job.timer.worked_s for job in talk.logbook.state.jobs.values()]
    talk.say(JOIN, "go to dent two", "correct length fifty mil", "deep")
    assert talk.job.timer.worked_s == sum(worked)
    assert (talk.job.dents[2].get("length_mm"), talk.job.dents[1].get("depth")) == (50, "shallow")
    assert talk.logbook.state.jobs[list(talk.logbook.state.jobs)[1]].dents[1].get("length_mm") == 30


@pytest.mark.parametrize("said", ["join job one to job one", "join job one to job seven"])
def test_what_cannot_be_joined(talk: Talk, said: str) -> None:
    talk.say("new job", ROOF)
    assert talk.say(said).heard.decision == "rejected"


def test_a_price_for_the_whole_of_the_second_job_is_not_lost(talk: Talk) -> None:
    talk.say("new job", ROOF, "new job", BONNET, "call it three fifty", JOIN)
    assert "take it back, and name one for both" in talk.answer


class Device:
    """A device with a journal file of its own."""

    def __init__(self, folder: Path, name: str) -> None:
        self.path = folder / f"{name}.db"
        logbook = Logbook.open(self.path, clock=SteppedClock())
        logbook.store.device = name
        self.talk = Talk(Dialogue(logbook, network(), Region("GB"), CARD, now=lambda: NOON), logbook)

    def join_all(self) -> None:
        """Join every pair that may be one car, until there is none."""
        log = self.talk.logbook
        while pair := next(may_be_one(log.state, frozenset(log.state.opened)), None):
            context = Context(log.state, Region("GB"), CARD, log.new_group(), NOON, by="hand")
            change = join(context, *(job.id for job in pair))
            assert not change.refused, change.answer
            log.commit(change.drafts, change.group)


_FOLDERS = count()
SAID = (ROOF, BONNET, "start work", "stop work", "give quote", "quote accepted", "deposit twenty cash",
        "invoice it", "credit note", "scratch that", "discount five percent")  # fmt: skip


def shown(logbook: Logbook) -> list[tuple[str, str | None, Job, str]]:
    """All that counts of every job, and its price."""
    jobs = logbook.state.jobs
    return [(key, jobs[key].joined_to, jobs[key], str(price_job(jobs[key], CARD).total)) for key in jobs]


@settings(max_examples=8, deadline=None)
@given(st.lists(st.lists(st.sampled_from(SAID), max_size=5), min_size=3, max_size=3), st.booleans())
def test_journals_merged_in_any_order_are_the_same(
    tmp_path_factory: pytest.TempPathFactory, said: list[list[str]], apart: bool
) -> None:
    """Three devices at one car; two of them also join what they see before the rest is known."""
    folder = tmp_path_factory.mktemp(f"merged{next(_FOLDERS)}")
    devices = [Device(folder, f"device{number}") for number in range(3)]
    for device, lines in zip(devices, said, strict=True):
        device.talk.say(f"new job {PLATE}", *lines)
    for one, other in ((0, 1), (2, 1)) if apart else ((0, 1),):
        devices[one].talk.logbook.merge(devices[other].path)
        devices[one].join_all()
    found = []
    for order in permutations(devices):
        merged = Logbook.open(folder / f"{'-'.join(device.path.stem for device in order)}.db")
        for device in order:
            merged.merge(device.path)
        found.append(shown(merged))
        merged.close()
    for device in devices:
        device.talk.logbook.close()
    assert all(one == found[0] for one in found)
    wholes = [job for _, whole, job, _ in found[0] if whole is None]
    counted = [part for job in wholes for part in (job.id, *job.parts)]
    assert sorted(counted) == sorted(key for key, *_ in found[0])  # none lost, none twice
