"""The invented day through the real embedded engine, against what its script says.

The truth is the script of `demo/day.toml`, understood as typed words: no figure is taken from an
earlier run of the recogniser.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from voicelog.cli.demo import DemoDay, load_day
from voicelog.cli.wiring import open_dialogue, open_ears
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.fold import fold
from voicelog.jobs.logbook import Logbook
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.session.dialogue import Dialogue, Outcome
from voicelog.session.listening_loop import Ear

LEAST_RIGHT = 0.9
"""Share of the utterances that the recogniser gets word by word, at least (measured: all)."""
ANSWERS = ("one five",)
"""What this fills depends on what was asked; typed, nothing was."""


@pytest.fixture(scope="module")
def day() -> DemoDay:
    return load_day()


@pytest.fixture(scope="module")
def truth(day: DemoDay) -> list[dict[str, Any]]:
    """Every utterance of the script as typed."""
    with Logbook.in_memory() as logbook:
        dialogue = open_dialogue(logbook, day.card, day.settings)
        lines = [text for item in day.script["recording"] for text in item["said"]]
        return [dialogue.take(Hypothesis(line, engine="typed")).to_json() for line in lines]


@pytest.fixture(scope="module")
def heard(day: DemoDay) -> Iterator[tuple[Logbook, Dialogue, list[Outcome]]]:
    """Every utterance of the recordings."""
    with Logbook.in_memory() as logbook:
        dialogue = open_dialogue(logbook, day.card, day.settings)
        ear = Ear(dialogue, open_ears("auto", day.settings))
        yield logbook, dialogue, [o for source in day.sources() for o in ear.hear(source)]


Heard = tuple[Logbook, Dialogue, list[Outcome]]


def test_every_utterance_of_the_script_is_one_segment(truth: list[dict[str, Any]], heard: Heard) -> None:
    assert len(heard[2]) == len(truth) >= 25


def test_most_are_right_and_no_wrong_one_passes_without_a_question(
    truth: list[dict[str, Any]], heard: Heard
) -> None:
    found = [outcome.to_json() for outcome in heard[2]]
    pairs = list(zip(truth, found, strict=True))
    right = [said["words"] == got["words"] for said, got in pairs]
    silent = [
        (said["words"], got["words"])
        for said, got in pairs
        if got["decision"] == "accepted"
        and (said["kind"], said["slots"]) != (got["kind"], got["slots"])
        and got["words"] not in ANSWERS
    ]
    assert sum(right) / len(right) >= LEAST_RIGHT, [
        pair for pair, ok in zip(pairs, right, strict=True) if not ok
    ]
    assert silent == []


def test_what_was_asked_is_answered_by_voice(heard: Heard) -> None:
    logbook, _, outcomes = heard
    asked = {o.heard.words: o.heard.question or "" for o in outcomes if o.heard.decision == "asked"}
    assert len(asked) <= 2
    assert "one five" in asked["left wing steel fifteen mil round shallow"]
    assert [job.waiting for job in logbook.state.jobs.values()] == [[], []]
    dents = [dent for job in logbook.state.jobs.values() for dent in job.listed()]
    wing, hood = (next(dent for dent in dents if dent.get("panel") == name) for name in ("wing", "bonnet"))
    assert (wing.get("length_mm"), hood.get("count")) == (15, 14)
    assert not {"length_mm", "count"} & {name for dent in (wing, hood) for name in dent.unconfirmed}


def test_events_bear_the_times_of_the_script(heard: Heard) -> None:
    stamps = [datetime.fromisoformat(event.at).astimezone(UTC) for event in heard[0].heards()]
    assert {stamp.date().isoformat() for stamp in stamps} == {"2026-03-02"}
    assert {stamp.hour for stamp in stamps} == {9, 13}
    assert stamps == sorted(stamps)


def test_what_is_in_doubt_makes_the_total_a_range_that_holds_the_true_values(heard: Heard) -> None:
    logbook, dialogue, _ = heard
    for job in logbook.state.jobs.values():
        estimate = price_job(job, dialogue.card)
        assert estimate.total.low <= estimate.total.high
        if any(dent.unconfirmed for dent in job.listed()):
            assert not estimate.confirmed


def test_two_jobs_one_with_many_small_dents_on_a_roof(heard: Heard) -> None:
    jobs = list(heard[0].state.jobs.values())
    assert [job.get("plate")[:7] for job in jobs] == ["AB26KLM", "TR26VWX"]
    roof = next(dent for dent in jobs[1].listed() if dent.get("panel") == "roof")
    assert roof.get("count") == 22


def test_state_is_the_fold_of_the_events(heard: Heard) -> None:
    logbook = heard[0]
    again = fold(logbook.events())
    assert {job.number: [d.values() for d in job.listed()] for job in again.jobs.values()} == {
        job.number: [d.values() for d in job.listed()] for job in logbook.state.jobs.values()
    }


def test_the_command_prints_jobs_and_writes_papers(
    day: DemoDay, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """With one short recording in place of the day's two, to keep it quick."""
    import soundfile

    from voicelog.cli import demo as command
    from voicelog.cli.take_down import show_briefly

    samples, rate = soundfile.read(day.recordings[0], dtype="int16", frames=16000 * 12)
    short = tmp_path / "short" / "recordings"
    short.mkdir(parents=True)
    soundfile.write(short / "01-morning.flac", samples, rate)
    script = {**day.script, "recording": day.script["recording"][:1]}
    monkeypatch.setattr(
        command, "load_day", lambda: DemoDay(tmp_path / "short", script, day.settings, day.card)
    )
    command.run_demo(tmp_path / "out", board=False, as_json=False, show=show_briefly)
    printed = capsys.readouterr().out
    assert "invented" in printed
    assert "Job 1" in printed
    assert "Total" in printed
    log = json.loads(next((tmp_path / "out" / "papers").glob("day-log*.json")).read_text())
    assert log["jobs"]


def test_the_board_of_the_day_has_the_customers_too(
    day: DemoDay, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The session as the board runs it, over one short recording; only the screen is left out."""
    import soundfile

    from voicelog.cli import demo as command
    from voicelog.cli import live

    class NoScreen:
        def __init__(self, logbook: Logbook, card: Any, settings: Any, run: Any, **rest: Any) -> None:
            self.run_session = run

        def run(self) -> None:
            self.run_session(lambda item: None, threading.Event())

    samples, rate = soundfile.read(day.recordings[0], dtype="int16", frames=16000 * 12)
    (tmp_path / "short" / "recordings").mkdir(parents=True)
    soundfile.write(tmp_path / "short" / "recordings" / "01-morning.flac", samples, rate)
    script = {**day.script, "recording": day.script["recording"][:1]}
    short = DemoDay(tmp_path / "short", script, day.settings, day.card)
    monkeypatch.setattr(command, "load_day", lambda: short)
    monkeypatch.setattr(command, "Paced", lambda source: source)
    monkeypatch.setattr(live, "BoardApp", NoScreen)
    command.run_demo(tmp_path / "out", board=True, as_json=False, show=print)
    log = json.loads(next((tmp_path / "out" / "papers").glob("day-log*.json")).read_text())
    customer = script["recording"][0]["typed"]["customer"]
    assert customer in json.dumps(log["jobs"][0])
