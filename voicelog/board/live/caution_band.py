"""Cautions that wait to be acknowledged."""

from __future__ import annotations

from collections.abc import Sequence

from textual.widgets import Static

from voicelog.jobs.cautions import caution_text
from voicelog.jobs.records import Job


def waiting(job: Job | None) -> list[str]:
    """Ids of the cautions of a job that nobody acknowledged, the newest first."""
    return [] if job is None else [name for name, done in reversed(job.cautions.items()) if not done]


def caution_line(ids: Sequence[str]) -> str:
    """The newest, and how many wait; empty where none does."""
    if not ids:
        return ""
    more = f" (and {len(ids) - 1} more)" if len(ids) > 1 else ""
    return f"▲ CAUTION{more}, say “understood” or press u: {caution_text(ids[0], short=True)}"


class CautionBand(Static):
    """In sight as long as a caution of the job in hand waits; it shows the record and holds nothing."""

    def show(self, job: Job | None) -> None:
        """Show what waits on this job."""
        line = caution_line(waiting(job))
        self.display = bool(line)
        self.update(line)
