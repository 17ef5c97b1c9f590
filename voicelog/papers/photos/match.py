"""Which picture belongs to which spoken photo mark, by the time the camera wrote into it.

Pictures are only read.  Times come from Exif (CIPA DC-008: DateTimeOriginal with its
sub-seconds and offset); a camera's clock may be wrong, so an offset can be added.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import partial
from pathlib import Path
from typing import Any, Final

from PIL import ExifTags, Image, UnidentifiedImageError

from voicelog.errors import VoicelogError
from voicelog.jobs.records import Job
from voicelog.papers.photos.align_times import fit

SUFFIXES: Final = frozenset({".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif"})
WINDOW: Final = timedelta(seconds=120)
"""How far a picture may be from its mark (our choice: time to put down the tool and find the camera)."""


Zone = Callable[[datetime], tzinfo]
"""The time zone of a picture by its local time, where it does not tell its own."""

with contextlib.suppress(ImportError):
    from pillow_heif import register_heif_opener

    register_heif_opener()


@dataclass(frozen=True)
class PhotoMark:
    """A photo mark as it was spoken."""

    job: str
    """Id of the job."""
    job_number: int
    number: int
    dent: int | None
    at: datetime


@dataclass(frozen=True)
class Shot:
    """A picture and when it was taken, the camera's offset added."""

    path: Path
    at: datetime | None
    """None where the picture carries no time."""
    trouble: str = ""
    """Why it cannot be read; empty where it can."""


@dataclass(frozen=True)
class Match:
    """A picture and the mark it belongs to."""

    shot: Shot
    mark: PhotoMark
    seconds: float
    """Picture after mark; negative where it was taken before."""


@dataclass(frozen=True)
class Matching:
    """What became of every picture and of every mark; nothing is left out in silence."""

    matches: tuple[Match, ...]
    unmatched: tuple[Shot, ...]
    """Pictures with a time that belong to no mark, without one, or unreadable."""
    unused: tuple[PhotoMark, ...]
    """Marks without a picture."""
    suggestion: timedelta | None = None
    """An offset of the camera's clock that would match more pictures; None where none does."""

    def to_json(self) -> dict[str, Any]:
        """As `voicelog photos --json` prints it."""
        return {
            "matches": [
                {"file": str(m.shot.path), "at": _iso(m.shot.at), "seconds": m.seconds, **_mark_json(m.mark)}
                for m in self.matches
            ],
            "unmatched": [
                {"file": str(shot.path), "at": _iso(shot.at), "reason": reason_of(shot)}
                for shot in self.unmatched
            ],
            "unused": [_mark_json(mark) for mark in self.unused],
            "suggested_offset_s": None if self.suggestion is None else self.suggestion.total_seconds(),
        }


def _iso(at: datetime | None) -> str | None:
    return None if at is None else at.isoformat()


def _mark_json(mark: PhotoMark) -> dict[str, Any]:
    return {"job": mark.job_number, "photo": mark.number, "dent": mark.dent, "marked_at": _iso(mark.at)}


def reason_of(shot: Shot) -> str:
    """Why a picture belongs to no mark."""
    if shot.trouble:
        return shot.trouble
    return "carries no time" if shot.at is None else "no photo mark near its time"


def match_photos(
    folder: Path,
    jobs: Iterable[Job],
    *,
    offset: timedelta = timedelta(0),
    window: timedelta = WINDOW,
    zone: tzinfo | None = None,
) -> Matching:
    """Match the pictures in `folder` and below to the photo marks of `jobs`.

    A mark may have several pictures, a picture has one mark at most; both keep their
    order in time.  As many of either as possible are matched, then as closely as possible.

    Args:
        offset: what to add to the camera's times; positive where its clock is slow.
        window: how far a picture may be from its mark.
        zone: the camera's time zone, for pictures that do not tell their own; None for
            that of the mark nearest by the time of day, so that it follows the season.

    Raises:
        VoicelogError: the folder does not exist or cannot be read.
    """
    marks = sorted(marks_of(jobs), key=lambda mark: mark.at)
    shots = list(read_shots(folder, (lambda _: zone) if zone else partial(_zone_of, marks), offset))
    dated = sorted((shot for shot in shots if shot.at is not None), key=_taken)
    pairs = fit([_taken(shot).timestamp() for shot in dated], [m.at.timestamp() for m in marks], window)
    matches = tuple(_match(dated[shot], marks[mark]) for shot, mark in pairs)
    used, shown = {mark for _, mark in pairs}, {shot for shot, _ in pairs}
    rest = [shot for index, shot in enumerate(dated) if index not in shown]
    unmatched = (*rest, *(shot for shot in shots if shot.at is None))
    unused = tuple(mark for index, mark in enumerate(marks) if index not in used)
    return Matching(matches, unmatched, unused, _suggested(rest, unused))


def _zone_of(marks: Sequence[PhotoMark], local: datetime) -> tzinfo:
    """The zone of the mark whose time of day is nearest to a local time."""

    def distance(mark: PhotoMark) -> timedelta:
        return abs(mark.at.replace(tzinfo=None) - local)

    return min(marks, key=distance).at.tzinfo or UTC if marks else UTC


def _taken(shot: Shot) -> datetime:
    assert shot.at is not None
    return shot.at


def _match(shot: Shot, mark: PhotoMark) -> Match:
    return Match(shot, mark, round((_taken(shot) - mark.at).total_seconds(), 3))


def marks_of(jobs: Iterable[Job]) -> Iterator[PhotoMark]:
    """Every photo mark of the jobs."""
    for job in jobs:
        for number, dent, at in job.photos:
            yield PhotoMark(job.id, job.number, number, dent, datetime.fromisoformat(at))


def read_shots(folder: Path, zone: Zone, offset: timedelta) -> Iterator[Shot]:
    """Every picture in the folder and below, in the order of their names."""
    if not folder.is_dir():
        raise VoicelogError("is no folder", where=str(folder), todo="name the folder that holds the pictures")
    try:
        paths = sorted(
            path for path in folder.rglob("*") if path.suffix.lower() in SUFFIXES and path.is_file()
        )
    except OSError as error:
        raise VoicelogError(f"cannot be read ({error.strerror})", where=str(folder)) from error
    for path in paths:
        yield read_shot(path, zone, offset)


def read_shot(path: Path, zone: Zone, offset: timedelta) -> Shot:
    """A picture with its time; one that cannot be read says so instead of stopping the others."""
    try:
        with Image.open(path) as image:
            exif = image.getexif()
            inner = exif.get_ifd(ExifTags.IFD.Exif)
            at = _exif_time(inner, exif, zone)
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError, ValueError, SyntaxError) as error:
        heif = path.suffix.lower() in (".heic", ".heif") and ".heic" not in Image.registered_extensions()
        todo = "; for HEIC: pip install pillow-heif" if heif else ""
        return Shot(path, None, f"cannot be read as a picture ({type(error).__name__}){todo}")
    return Shot(path, None if at is None else at + offset)


def _exif_time(inner: Any, outer: Any, zone: Zone) -> datetime | None:
    """DateTimeOriginal, else DateTime; its own offset from UTC, else `zone`."""
    base = ExifTags.Base
    found = (
        (inner.get(base.DateTimeOriginal), base.SubsecTimeOriginal, base.OffsetTimeOriginal),
        (outer.get(base.DateTime), base.SubsecTime, base.OffsetTime),
    )
    for text, subsecond, own in found:
        at = _time(str(text or "").strip("\0 "), str(inner.get(subsecond) or ""))
        if at is not None:
            return at.replace(tzinfo=_own_zone(str(inner.get(own) or "")) or zone(at))
    return None


def _time(text: str, subsecond: str) -> datetime | None:
    try:
        at = datetime.strptime(text[:19], "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    digits = re.sub(r"\D", "", subsecond)[:6]
    return at.replace(microsecond=int(digits.ljust(6, "0"))) if digits else at


def _own_zone(text: str) -> tzinfo | None:
    found = re.match(r"\s*([+-])(\d\d):?(\d\d)", text)
    if found is None:
        return None
    ahead = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-ahead if found[1] == "-" else ahead)


def _suggested(shots: Sequence[Shot], marks: Sequence[PhotoMark]) -> timedelta | None:
    """The difference that most unmatched pictures and marks share; of a single one, by time zones."""
    spread = 30.0
    gaps = sorted((mark.at - _taken(shot)).total_seconds() for shot in shots for mark in marks)
    best: Sequence[float] = ()
    start = 0
    for stop, gap in enumerate(gaps):
        while gap - gaps[start] > spread:
            start += 1
        cluster = gaps[start : stop + 1]
        if len(cluster) > len(best) or (len(cluster) == len(best) and abs(cluster[0]) < abs(best[0])):
            best = cluster
    if len(best) >= 2:
        return timedelta(seconds=round(best[len(best) // 2]))
    # A single one may be off by a time zone: those differ by quarters of an hour (IANA tz database).
    zones = [quarter for gap in gaps if abs(gap - (quarter := 900 * round(gap / 900))) <= 120 and quarter]
    return timedelta(seconds=min(zones, key=abs)) if zones else None


def parse_offset(text: str) -> timedelta:
    """An offset as people write it: "90", "-12.5" (seconds), "+0:58:12", "-3:20" (minutes:seconds).

    Raises:
        VoicelogError: it is neither.
    """
    found = re.fullmatch(r"\s*([+-]?)(?:(?:(\d+):)?(\d+):)?(\d+(?:\.\d+)?)\s*s?\s*", text)
    if found is None:
        raise VoicelogError(
            f"{text!r} is no offset of a clock",
            todo="write seconds, or hours:minutes:seconds, as in +0:58:12",
        )
    hours, minutes, seconds = int(found[2] or 0), int(found[3] or 0), float(found[4])
    span = timedelta(hours=hours, minutes=minutes, seconds=seconds)
    return -span if found[1] == "-" else span
