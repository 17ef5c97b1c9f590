"""What is worked on: where, how large and what to say next in large type; slots and plan below."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from voicelog.board.live.car_plan import plan
from voicelog.board.live.plan_view import PlanView
from voicelog.board.live.say_next import standing_of, to_say
from voicelog.board.live.sizes import Sizes
from voicelog.board.live.slot_grid import SlotGrid, cells
from voicelog.board.widgets.big_text import BigText
from voicelog.board.words import MARKED, Wording
from voicelog.estimate.card.model import Card
from voicelog.jobs.records import Dent, Job

_SHORT = {"paint reading": "paint", "reference reading": "reference", "front or rear": "front/rear",
          "left or right": "left/right", "next dent, or job finished": "next dent"}  # fmt: skip


def headline(job: Job | None, dent: Dent | None, wording: Wording) -> str:
    """Which job and dent, and how they stand: "Job 2 XX70DNT, at work · DENT 3, rear right door"."""
    if job is None:
        return "no job"
    parts = [f"{job.title}, {standing_of(job, wording)}"]
    if dent is not None:
        numbers = [listed.number for listed in job.listed()]
        at = f", {numbers.index(dent.number) + 1} of {len(numbers)}" if dent.number in numbers else ""
        place = wording.place(dent.place)
        parts.append(f"DENT {dent.number}{f', {place}' if place else ''}{at}")
        if dent.get("belongs_to"):
            parts.append(f"belongs to dent {dent.get('belongs_to')}")
    if job.every_risk:
        parts.append("risk noted")
    return " · ".join(parts)


def size_lines(dent: Dent, wording: Wording) -> tuple[str, ...]:
    """The size, ever shorter: "45 × 30/13? mm shallow", "45 × 30/13? mm"; doubts with both values."""
    sides = [
        MARKED if (found := dent.fields.get(name)) is None
        else "/".join(wording.length(value) for value in found.choices)  # type: ignore[arg-type]
        + ("" if found.confirmed else MARKED)
        for name in ("length_mm", "width_mm")
        if name == "length_mm" or name in dent.fields
    ]  # fmt: skip
    count, depth = dent.get("count"), dent.get("depth")
    if sides == [MARKED]:
        return (f"{count} dents",) if count else ("",)
    size = f"{' × '.join(sides)} {wording.length_unit}"
    head = f"{count} at {size}" if count else size
    return (f"{head} {depth}", head) if depth else (head,)


class OpenDent(Vertical):
    """Shows one dent, or how the job stands where none is open."""

    def compose(self) -> ComposeResult:
        """Head line, place, then size and next beside the plan."""
        yield Static(id="dent-head", markup=False)
        yield BigText(id="dent-place")
        with Horizontal(id="middle"):
            with Vertical(id="dent-side"):
                yield BigText(id="dent-size")
                yield BigText(id="dent-next")
                yield SlotGrid(id="dent-slots")
            yield PlanView(id="plan")

    def fit(self, sizes: Sizes, *, asking: bool) -> None:
        """Take other sizes."""
        for text in self.query(BigText):
            text.tallest, text.most_lines = sizes.letters, sizes.lines
            text.largest_first = text.id != "dent-place"
        self.query_one("#dent-place").display = sizes.place
        self.query_one("#dent-next").display = not asking

    def show(self, job: Job | None, card: Card, wording: Wording, plan_size: str) -> None:
        """Show the open dent of `job`."""
        dent = None if job is None or job.open_dent is None else job.dents.get(job.open_dent)
        if job is not None and job.finished_at:
            dent = None
        self.query_one("#dent-head", Static).update(headline(job, dent, wording))
        place, size = self.query_one("#dent-place", BigText), self.query_one("#dent-size", BigText)
        if job is None or dent is None:
            place.show("no job yet" if job is None else job.title)
            size.show(standing_of(job, wording) if job is not None and job.finished_at else "")
        else:
            name = wording.place(dent.place)
            place.show(name, wording.place(dent.place, short=True), name)
            size.show(*size_lines(dent, wording))
        self._show_next(to_say(job, card))
        self.query_one("#dent-slots", SlotGrid).shown = tuple(
            cells(job, dent, wording) if job and dent else ()
        )
        view = self.query_one(PlanView)
        view.display = bool(plan_size) and job is not None
        if view.display and job is not None:
            view.plan = plan(list(job.listed()), job.open_dent, wording, large=plan_size == "large")

    def _show_next(self, wanted: list[str]) -> None:
        # "say" goes with it: a bare word reads as a state.
        texts = [f"say {text}" for text in (wanted[0], _SHORT.get(wanted[0], wanted[0]))] if wanted else [""]
        self.query_one("#dent-next", BigText).show(*texts)
