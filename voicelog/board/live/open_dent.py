"""The dent that is open: where and how large in large type, every slot below."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static

from voicelog.board.live.slot_grid import SlotGrid, cells
from voicelog.board.widgets.big_text import BigText
from voicelog.board.words import EMPTY, Wording
from voicelog.jobs.records import Dent, Job
from voicelog.vocabulary import LENGTHS


def headline(job: Job, dent: Dent) -> str:
    """Which dent it is: "Dent 3, 2nd of 5"."""
    numbers = [listed.number for listed in job.listed()]
    at = numbers.index(dent.number) + 1 if dent.number in numbers else 0
    parts = [f"DENT {dent.number}", f"{at} of {len(numbers)} on this car"]
    if dent.get("belongs_to"):
        parts.append(f"belongs to dent {dent.get('belongs_to')}")
    if dent.risks:
        parts.append("risk noted")
    return " · ".join(parts)


def size_lines(dent: Dent, wording: Wording) -> tuple[str, ...]:
    """The size, ever shorter: "45 × 30 mm shallow", "45 × 30 mm"; both values where one is in doubt."""
    doubtful = [
        dent.fields[name] for name in LENGTHS if name in dent.fields and not dent.fields[name].confirmed
    ]
    if doubtful:
        size = wording.choices("length_mm", doubtful[0].choices) + " ?"
    else:
        size = wording.size(dent) or f"__ {wording.length_unit}"
    count = dent.get("count")
    head = f"{count} at {size}" if count else size
    depth = dent.get("depth")
    return (f"{head} {depth}", head) if depth else (head,)


class OpenDent(Vertical):
    """Shows one dent, or what to say when none is open."""

    def compose(self) -> ComposeResult:
        """Head line, place, size, slots."""
        yield Static(id="dent-head", markup=False)
        yield BigText(id="dent-place")
        yield BigText(id="dent-size")
        yield Static(id="dent-missing", markup=False)
        yield SlotGrid(id="dent-slots")

    def show(self, job: Job | None, wording: Wording) -> None:
        """Show the open dent of `job`."""
        dent = None if job is None or job.open_dent is None else job.dents.get(job.open_dent)
        if job is None or dent is None:
            self._show_nothing(job)
            return
        self.query_one("#dent-head", Static).update(headline(job, dent))
        place = wording.place(dent.place)
        self.query_one("#dent-place", BigText).show(place, wording.place(dent.place, short=True), place)
        self.query_one("#dent-size", BigText).show(*size_lines(dent, wording))
        shown = tuple(cells(job, dent, wording))
        self.query_one("#dent-slots", SlotGrid).shown = shown
        missing = [name for name, value, _ in shown if value == EMPTY]
        self.query_one("#dent-missing", Static).update(f"{EMPTY} {', '.join(missing)}" if missing else "")

    def _show_nothing(self, job: Job | None) -> None:
        say, head = ("new job", "NO JOB YET · say “new job”, then the plate")
        if job is not None:
            say, head = ("no dent yet", f"{job.title} · name a panel and a size")
        self.query_one("#dent-head", Static).update(head)
        self.query_one("#dent-place", BigText).show(say)
        self.query_one("#dent-size", BigText).show("")
        self.query_one("#dent-slots", SlotGrid).shown = ()
        self.query_one("#dent-missing", Static).update("")
