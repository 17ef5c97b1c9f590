"""`voicelog hear`: times of the recording, no recording twice, odd files do no harm."""

from __future__ import annotations

import json
import os
import struct
import sys
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
import soxr

from tests.cli.conftest import Ran, Run
from tests.speech.recordings import read_sound
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev

TRADE = Path(__file__).parents[1] / "speech" / "trade"
RATE = 16_000
WORKED_S = 20.0


def silence(seconds: float) -> np.ndarray:
    return np.zeros(round(seconds * RATE), np.int16)


@pytest.fixture(scope="module")
def worked() -> np.ndarray:
    """ "Start work", and 20 s later "stop work"."""
    start, stop = (
        read_sound(TRADE / name) for name in ("tuning_39_bm_george.flac", "held_28_bf_isabella.flac")
    )
    between = silence(WORKED_S - len(start) / RATE)
    return np.concatenate([silence(1), start, between, stop, silence(2)])


def heard(run: Run, *arguments: object) -> list[dict[str, Any]]:
    ran = run("hear", *arguments, "--log", "j.db", "--json")
    assert ran.status == 0, ran.err
    return [json.loads(line) for line in ran.out.splitlines()]


def times(log: Path) -> list[datetime]:
    """When the timer was started and stopped, as the events say."""
    with Logbook.open(log, writer=False) as logbook:
        return [datetime.fromisoformat(event.at) for event in logbook.events(kind=ev.Timed.TYPE)]


def refused(ran: Ran) -> str:
    assert ran.status == 2
    assert len(ran.err.strip().splitlines()) == 1
    return ran.err


def test_events_are_stamped_by_the_start_that_is_given(run: Run, tmp_path: Path, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked, RATE)
    soundfile.write("b.wav", np.concatenate([worked, silence(1)]), RATE)
    lines = heard(run, "a.wav", "b.wav", "--start", "2026-03-02T09:00:00+00:00")
    assert [line["slots"]["time"] for line in lines] == ["start", "stop"] * 2
    start, stop, later, _ = times(tmp_path / "j.db")
    assert (stop - start).total_seconds() == pytest.approx(WORKED_S, abs=1.5)
    nine = datetime.fromisoformat("2026-03-02T09:00:00+00:00")
    assert nine < start < nine + timedelta(seconds=5)
    assert (later - start).total_seconds() == pytest.approx(len(worked) / RATE, abs=0.3)


def test_the_last_line_says_what_became_of_all_of_it(run: Run, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked, RATE)
    soundfile.write("empty.wav", silence(2), RATE)
    last = [run("hear", name, "--log", "j.db").out.splitlines()[-1] for name in ("a.wav", "empty.wav")]
    assert last == ["2 understood; nothing waits; see: voicelog price", "Nothing was said."]


def test_without_a_start_the_file_was_changed_last_when_it_ended(
    run: Run, tmp_path: Path, worked: np.ndarray
) -> None:
    soundfile.write("a.wav", worked, RATE)
    ended = datetime(2026, 3, 2, 17, 0).astimezone()
    os.utime("a.wav", (ended.timestamp(), ended.timestamp()))
    heard(run, "a.wav")
    assert 0 < (ended - times(tmp_path / "j.db")[1]).total_seconds() < 3


def test_a_field_recorder_s_own_date_comes_first(run: Run, tmp_path: Path, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked, RATE)
    # A Broadcast Wave chunk: three texts, then date and time (EBU Tech 3285).
    text = bytes(320) + b"2026-03-02" + b"08:30:00" + bytes(264)
    raw = Path("a.wav").read_bytes()
    chunk = b"bext" + struct.pack("<I", len(text)) + text
    Path("a.wav").write_bytes(
        raw[:4] + struct.pack("<I", len(raw) - 8 + len(chunk)) + raw[8:12] + chunk + raw[12:]
    )
    heard(run, "a.wav")
    assert times(tmp_path / "j.db")[0].astimezone().strftime("%Y-%m-%d %H:%M") == "2026-03-02 08:30"


def test_a_start_that_is_no_time_is_refused(run: Run, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked[:RATE], RATE)
    assert "--start" in refused(run("hear", "a.wav", "--start", "nine o'clock", "--log", "j.db"))


def test_the_same_sound_is_taken_down_once(
    run: Run, tmp_path: Path, worked: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    soundfile.write("a.wav", worked[: 4 * RATE], RATE)
    assert len(heard(run, "a.wav")) == 1
    Path("copy.wav").write_bytes(Path("a.wav").read_bytes())
    assert "--again" in refused(run("hear", "copy.wav", "--log", "j.db"))
    assert "copy.wav was taken down before" in refused(run("hear", "copy.wav", "--log", "j.db")).replace(
        ":", ""
    )
    assert len(times(tmp_path / "j.db")) == 1
    assert len(heard(run, "copy.wav", "--again")) == 1
    # In a terminal it is a question.
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True)
    monkeypatch.setattr("typer.confirm", lambda text: False)
    assert run("hear", "a.wav", "--log", "j.db").out == "Nothing was said.\n"
    monkeypatch.setattr("typer.confirm", lambda text: True)
    assert "start work" in run("hear", "a.wav", "--log", "j.db").out


def test_a_file_given_twice_is_refused_before_anything_is_written(run: Run, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked[: 4 * RATE], RATE)
    assert "taken down before" in refused(run("hear", "a.wav", "a.wav", "--log", "j.db"))
    assert json.loads(run("price", "--log", "j.db", "--json").out) == {"jobs": []}


@pytest.mark.parametrize("rate", [8_000, 96_000])
def test_other_rates_stereo_and_clipping_are_heard_all_the_same(
    run: Run, worked: np.ndarray, rate: int
) -> None:
    sound = soxr.resample(worked[: 4 * RATE] / 32768, RATE, rate)
    loud = np.clip(3 * np.stack([sound, sound], axis=1), -1, 1)
    soundfile.write("a.wav", loud, rate)
    assert [line["slots"] for line in heard(run, "a.wav")] == [{"time": "start"}]


def test_a_cut_off_file_gives_what_is_there(run: Run, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked, RATE)
    Path("a.wav").write_bytes(Path("a.wav").read_bytes()[: 2 * 5 * RATE])
    ran = run("hear", "a.wav", "--log", "j.db", "--json")
    assert (ran.status, [json.loads(line)["slots"] for line in ran.out.splitlines()]) == (
        0,
        [{"time": "start"}],
    )
    assert "early" in ran.err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="pipes with names are a thing of POSIX")
def test_a_pipe_is_refused_at_once(run: Run) -> None:
    os.mkfifo("a.wav")
    assert "pipe" in refused(run("hear", "a.wav", "--log", "j.db"))
    assert "pipe" in refused(run("import-journal", "a.wav", "--log", "j.db"))


def test_a_file_that_says_nothing_of_its_rate_is_refused(run: Run) -> None:
    Path("a.raw").write_bytes(bytes(4000))
    assert "a.raw: is no sound file that can be read" in refused(run("hear", "a.raw", "--log", "j.db"))


@pytest.mark.skipif(sys.platform != "linux", reason="other systems keep such names out")
def test_a_name_that_is_no_utf_8_is_heard_and_shown_as_well_as_may_be(run: Run, worked: np.ndarray) -> None:
    soundfile.write("a.wav", worked[: 4 * RATE], RATE)
    os.rename(b"a.wav", b"t\xfcr.wav")
    (line,) = heard(run, os.fsdecode(b"t\xfcr.wav"))
    assert line["source"] == "t\ufffdr.wav"
    gone = refused(run("hear", os.fsdecode(b"w\xe9g.wav"), "--log", "j.db"))
    assert "w\ufffdg.wav" in gone
