"""Pictures and photo marks: real JPEG files with Exif written by Pillow, read back by the matcher."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from itertools import combinations_with_replacement
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_day import NOW, START, Tape
from PIL import ExifTags, Image

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.jobs.records import State
from voicelog.journal import events as ev
from voicelog.papers import Letterhead, match_photos, parse_offset, write_papers
from voicelog.papers.photos.align_times import fit

BASE = ExifTags.Base


def picture(path: Path, at: datetime | None, offset: str = "", subsecond: str = "") -> Path:
    """A small JPEG; Exif keeps local time without zone, as CIPA DC-008 has it."""
    image = Image.new("RGB", (64, 48), (90, 120, 150))
    exif = Image.Exif()
    if at is not None:
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        inner[BASE.DateTimeOriginal] = at.strftime("%Y:%m:%d %H:%M:%S")
        if offset:
            inner[BASE.OffsetTimeOriginal] = offset
        if subsecond:
            inner[BASE.SubsecTimeOriginal] = subsecond
    image.save(path, exif=exif)
    return path


@pytest.fixture
def marked() -> State:
    """Three photo marks, at minute 3, 13 and 14 of the day."""
    tape = Tape().job(1, plate="VL26DNT")
    tape.add(ev.PhotoMarked(1)).dent(1, panel="roof").add(ev.PhotoMarked(2, 1), 8).add(ev.PhotoMarked(3, 1))
    return tape.state()


def at(minutes: float, seconds: float = 0) -> datetime:
    """A time of the invented day."""
    return START + timedelta(minutes=minutes, seconds=seconds)


def test_each_picture_goes_to_its_mark_in_order(tmp_path: Path, marked: State) -> None:
    picture(tmp_path / "a.jpg", at(3, 10))
    picture(tmp_path / "b.jpg", at(13, 40))  # nearer to the mark of minute 14, but that one has its own
    picture(tmp_path / "c.jpg", at(14, 20))
    found = match_photos(tmp_path, marked.jobs.values(), zone=UTC)
    assert [(m.shot.path.name, m.mark.number, m.mark.dent, m.seconds) for m in found.matches] == [
        ("a.jpg", 1, None, 10.0),
        ("b.jpg", 2, 1, 40.0),
        ("c.jpg", 3, 1, 20.0),
    ]
    assert found.unmatched == ()
    assert found.unused == ()


def test_several_pictures_of_one_mark_and_strays_are_shown(tmp_path: Path, marked: State) -> None:
    picture(tmp_path / "a.jpg", at(3, 5))
    picture(tmp_path / "b.jpg", at(3, 25))
    picture(tmp_path / "late.jpg", at(40))
    picture(tmp_path / "timeless.png", None)
    (tmp_path / "broken.jpg").write_bytes(b"no picture at all")
    found = match_photos(tmp_path, marked.jobs.values(), zone=UTC)
    assert [(m.shot.path.name, m.mark.number) for m in found.matches] == [("a.jpg", 1), ("b.jpg", 1)]
    assert {item["file"].rsplit("/")[-1]: item["reason"] for item in found.to_json()["unmatched"]} == {
        "late.jpg": "no photo mark near its time",
        "timeless.png": "carries no time",
        "broken.jpg": "cannot be read as a picture (UnidentifiedImageError)",
    }
    assert [mark.number for mark in found.unused] == [2, 3]


def test_a_slow_camera_is_suggested_and_then_matched(tmp_path: Path, marked: State) -> None:
    slow = timedelta(hours=1, minutes=2, seconds=3)
    for name, minute in (("a", 3), ("b", 13), ("c", 14)):
        picture(tmp_path / f"{name}.jpg", at(minute, 6) - slow)
    found = match_photos(tmp_path, marked.jobs.values(), zone=UTC)
    assert found.matches == ()
    assert found.suggestion is not None
    assert abs(found.suggestion - slow) <= timedelta(seconds=30)
    again = match_photos(tmp_path, marked.jobs.values(), offset=found.suggestion, zone=UTC)
    assert [m.mark.number for m in again.matches] == [1, 2, 3]


def test_the_offset_of_the_picture_itself_counts(tmp_path: Path, marked: State) -> None:
    """OffsetTimeOriginal and SubSecTimeOriginal (Exif 2.31, tags 36881 and 37521)."""
    picture(tmp_path / "a.jpg", at(3) - timedelta(hours=5), "-05:00", "25")
    found = match_photos(tmp_path, marked.jobs.values(), zone=UTC)
    assert [m.seconds for m in found.matches] == [0.25]


def test_pictures_without_an_offset_follow_the_season_of_the_marks(tmp_path: Path) -> None:
    """London is at UTC in winter and an hour ahead in summer (IANA tz database): one winter mark first."""
    winter, summer = (
        datetime.fromisoformat(at) for at in ("2026-01-05T09:00:00+00:00", "2026-07-06T10:00:00+01:00")
    )
    tape = Tape(winter - timedelta(minutes=3)).job(1).add(ev.PhotoMarked(1))
    marked = tape.state()
    marked.jobs["job-1"].photos.append((2, None, summer.isoformat()))
    picture(tmp_path / "winter.jpg", datetime(2026, 1, 5, 9, 0, 10))
    picture(tmp_path / "summer.jpg", datetime(2026, 7, 6, 10, 0, 10))
    for zone in (None, ZoneInfo("Europe/London")):
        found = match_photos(tmp_path, marked.jobs.values(), zone=zone)
        assert [(m.shot.path.name, m.mark.number) for m in found.matches] == [
            ("winter.jpg", 1),
            ("summer.jpg", 2),
        ]


def test_a_single_picture_an_hour_off_is_suggested(tmp_path: Path) -> None:
    """A camera left at winter time."""
    tape = Tape().job(1).add(ev.PhotoMarked(1))
    picture(tmp_path / "a.jpg", at(3, 20) - timedelta(hours=1))
    found = match_photos(tmp_path, tape.state().jobs.values(), zone=UTC)
    assert found.matches == ()
    assert found.suggestion == timedelta(hours=1)
    picture(tmp_path / "a.jpg", at(3, 20) - timedelta(minutes=52))
    assert match_photos(tmp_path, tape.state().jobs.values(), zone=UTC).suggestion is None


def test_heic_pictures_are_read(tmp_path: Path, marked: State) -> None:
    """ISO/IEC 23008-12 as pillow-heif writes it."""
    pytest.importorskip("pillow_heif", reason="needs pillow-heif")
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.Exif)[BASE.DateTimeOriginal] = at(3, 5).strftime("%Y:%m:%d %H:%M:%S")
    Image.new("RGB", (64, 48), (90, 120, 150)).save(tmp_path / "a.heic", exif=exif)
    found = match_photos(tmp_path, marked.jobs.values(), zone=UTC)
    assert [(m.shot.path.name, m.mark.number) for m in found.matches] == [("a.heic", 1)]


def test_originals_are_never_changed_and_thumbnails_reach_the_papers(
    tmp_path: Path, marked: State, card: Card, letterhead: Letterhead
) -> None:
    folder = tmp_path / "camera"
    folder.mkdir()
    files = [picture(folder / "IMG_1.jpg", at(3, 4)), picture(folder / "stray.jpg", at(200))]
    before = [(hashlib.sha256(file.read_bytes()).hexdigest(), file.stat().st_mtime_ns) for file in files]
    found = match_photos(folder, marked.jobs.values(), zone=UTC)
    write_papers(marked, card, letterhead, tmp_path / "out", photos=found, formats=("html",), now=NOW)
    assert [
        (hashlib.sha256(file.read_bytes()).hexdigest(), file.stat().st_mtime_ns) for file in files
    ] == before
    record = (tmp_path / "out" / "2026-03-02-VL26DNT-job-0001-work-record.html").read_text(encoding="utf-8")
    assert "Before: whole job, photo 1, 08:33" in record
    assert record.count("data:image/jpeg;base64,") == 1
    log = (tmp_path / "out" / "day-log-2026-03-02.html").read_text(encoding="utf-8")
    assert "no picture found" in log
    assert "stray.jpg, 2 March 2026, 11:50: no photo mark near its time" in log


def test_a_folder_that_is_none_ends_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(VoicelogError, match="is no folder"):
        match_photos(tmp_path / "none", [])


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("90", 90), ("-12.5", -12.5), ("+0:58:12", 3492), ("-3:20", -200), ("1:00:00", 3600), ("0", 0)],
)
def test_offsets_as_people_write_them(text: str, seconds: float) -> None:
    assert parse_offset(text).total_seconds() == seconds


@pytest.mark.parametrize("text", ["", "an hour", "1:2:3:4", "--3", "+"])
def test_what_is_no_offset_is_said_so(text: str) -> None:
    with pytest.raises(VoicelogError, match="is no offset"):
        parse_offset(text)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(0, 40), max_size=4).map(sorted),
    st.lists(st.integers(0, 40), max_size=3, unique=True).map(sorted),
)
def test_the_fit_is_the_best_of_all_there_are(shots: list[int], marks: list[int]) -> None:
    """Against trying every way there is: each shot to a mark in order, or to none."""
    window = 10

    def cost(choice: list[int | None]) -> tuple[int, float] | None:
        pairs = [(s, marks[m]) for s, m in zip(shots, choice, strict=True) if m is not None]
        if any(abs(s - m) > window for s, m in pairs):
            return None
        alone = choice.count(None) + len(marks) - len({m for _, m in pairs})
        return alone, sum(abs(s - m) for s, m in pairs)

    def choices() -> list[list[int | None]]:
        found: list[list[int | None]] = []
        for mask in range(2 ** len(shots)):
            taken = [place for place in range(len(shots)) if mask >> place & 1]
            for given_marks in combinations_with_replacement(range(len(marks)), len(taken)):
                choice: list[int | None] = [None] * len(shots)
                for place, mark in zip(taken, given_marks, strict=True):
                    choice[place] = mark
                found.append(choice)
        return found

    best = min(value for choice in choices() if (value := cost(choice)) is not None)
    mine: list[int | None] = [None] * len(shots)
    for shot, mark in fit([float(s) for s in shots], [float(m) for m in marks], timedelta(seconds=window)):
        mine[shot] = mark
    assert cost(mine) == best
