"""Matched pictures as the papers show them: thumbnails with captions, by job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from voicelog.errors import VoicelogError
from voicelog.jobs.records import Job
from voicelog.papers.blocks import Picture
from voicelog.papers.photos.match import Match, Matching, PhotoMark, Shot, reason_of
from voicelog.papers.photos.thumbnails import THUMBNAIL_PIXELS, small_picture
from voicelog.papers.text import isolated
from voicelog.papers.wording import Words, listed

REPAIRS: Final = frozenset({"warm", "pull", "push", "lever", "knock-down", "polish"})
"""Steps that change the metal or its paint."""


@dataclass(frozen=True)
class Album:
    """The pictures of one job."""

    pictures: tuple[Picture, ...] = ()
    names: tuple[tuple[int, str], ...] = ()
    """(photo number, file name), in order of time."""

    def files_of(self, number: int) -> tuple[str, ...]:
        """The file names of a photo mark."""
        return tuple(name for found, name in self.names if found == number)


def album_of(job: Job, matching: Matching, words: Words) -> Album:
    """The pictures that belong to the marks of a job."""
    own = [match for match in matching.matches if match.mark.job == job.id]
    return Album(
        tuple(_picture(match, _stage(job, match.mark), words) for match in own),
        tuple((match.mark.number, isolated(match.shot.path.name)) for match in own),
    )


def strays(matching: Matching, words: Words) -> tuple[tuple[Picture, ...], tuple[str, ...]]:
    """Thumbnails of the pictures without a mark, and one line for each that cannot be shown."""
    pictures, lines = [], []
    for shot in matching.unmatched:
        try:
            pictures.append(_stray(shot, words))
        except VoicelogError:
            lines.append(f"{isolated(shot.path.name)}: {reason_of(shot)}")
    return tuple(pictures), tuple(lines)


def _stage(job: Job, mark: PhotoMark) -> str:
    """Before the repair or after it, by the first and the last step at the dent."""
    steps = [step for dent in job.listed() if mark.dent in (None, dent.number) for step in dent.steps]
    done = sorted(datetime.fromisoformat(step.at) for step in (*steps, *job.steps) if step.step in REPAIRS)
    if not done or mark.at < done[0]:
        return "Before"
    return "After" if mark.at > done[-1] else "During the work"


def _picture(match: Match, stage: str, words: Words) -> Picture:
    mark = match.mark
    dent = "whole job" if mark.dent is None else f"dent {mark.dent}"
    taken = words.time(match.shot.at.isoformat()) if match.shot.at else ""
    caption = listed(filter(None, (f"{stage}: {dent}", f"photo {mark.number}", taken)))
    return small_picture(
        match.shot.path, THUMBNAIL_PIXELS, caption, f"{stage}: photo {mark.number} of {dent}"
    )


def _stray(shot: Shot, words: Words) -> Picture:
    taken = words.date_time(shot.at.isoformat()) if shot.at else "no time"
    caption = f"{isolated(shot.path.name)}, {taken}: {reason_of(shot)}"
    return small_picture(shot.path, THUMBNAIL_PIXELS, caption, "Picture that belongs to no photo mark")


def unused_lines(matching: Matching, jobs: Sequence[str], words: Words) -> tuple[str, ...]:
    """One line for each mark of the jobs that has no picture."""
    return tuple(
        f"Job {mark.job_number}, photo {mark.number}, {words.date_time(mark.at.isoformat())}: no picture"
        for mark in matching.unused
        if mark.job in jobs
    )
