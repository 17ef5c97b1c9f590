"""The invented day, from its recordings to its papers."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any

import typer

from voicelog.cli.live import live_board
from voicelog.cli.show import print_estimates
from voicelog.cli.wiring import asleep_path, heard_bodies, open_card, open_dialogue, open_ears
from voicelog.estimate.card.model import Card
from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.clips import Clips
from voicelog.journal.store import Draft
from voicelog.listening import Paced, Recording
from voicelog.meaning.note import SlotValue
from voicelog.papers.letterhead import letterhead_of
from voicelog.papers.write import write_papers
from voicelog.session.dialogue import Outcome
from voicelog.session.listening_loop import Ear
from voicelog.settings import Settings, load_settings


@dataclass(frozen=True)
class DemoDay:
    """The files of the invented day."""

    folder: Path
    script: dict[str, Any]
    settings: Settings
    card: Card

    @property
    def recordings(self) -> list[Path]:
        """Paths of the recordings, in the order of the day."""
        return [self.folder / "recordings" / item["file"] for item in self.script["recording"]]

    def sources(self) -> list[Recording]:
        """The recordings, each at its time of the day."""
        starts = [datetime.fromisoformat(item["start"]) for item in self.script["recording"]]
        return [Recording(path, start) for path, start in zip(self.recordings, starts, strict=True)]


def demo_folder() -> Path:
    """Where the demo's files are: inside the installed package, or beside it in a checkout."""
    package = Path(str(resources.files("voicelog")))
    inside = package / "demo"
    return inside if inside.is_dir() else package.parent / "demo"


def load_day(folder: Path | None = None) -> DemoDay:
    """Read the invented day."""
    place = folder or demo_folder()
    script = tomllib.loads((place / "day.toml").read_text(encoding="utf-8"))
    settings = load_settings(place / "settings.toml")
    return DemoDay(place, script, settings, open_card(place / "rate-card.toml", settings))


def run_demo(folder: Path, *, board: bool, as_json: bool, show: Callable[[Outcome], None]) -> None:
    """Hear the day, print jobs and estimates, write the papers."""
    day = load_day()
    folder.mkdir(parents=True, exist_ok=True)
    path = _fresh(folder / "journal.db")
    if not as_json:
        typer.echo(
            f"{day.script['workshop']}: an invented workshop; its people, cars and prices exist only here."
        )
    with Logbook.open(path) as logbook:
        dialogue = open_dialogue(logbook, day.card, day.settings)
        ear = Ear(dialogue, open_ears(None, day.settings), Clips.beside(path), asleep=asleep_path())
        evening = partial(_type_evening, day)
        if board:
            paced = [Paced(source) for source in day.sources()]
            live_board(logbook, day.card, day.settings, ear, paced, evening)
        else:
            for number, source in enumerate(day.sources()):
                if not as_json:
                    typer.echo(f"\n{Path(source.name).name}")
                for outcome in ear.hear(source):
                    show(outcome)
                evening(number, logbook)
        if as_json:
            return
        typer.echo("")
        print_estimates(list(logbook.state.jobs.values()), day.card, explain=False)
        written = write_papers(
            logbook.state,
            day.card,
            letterhead_of(day.settings),
            folder / "papers",
            heards=heard_bodies(logbook),
            seal=logbook.seal,
            now=logbook.clock.now(),
        )
        typer.echo(f"\n{len(written)} papers in {folder / 'papers'}, such as {_face(written)}")
        typer.echo(
            f"The day at the desk: voicelog review --log {path} --card {day.folder / 'rate-card.toml'}"
        )


def _face(written: Iterable[Path]) -> str:
    """The paper to look at first."""
    names = [paper.name for paper in written if paper.suffix == ".pdf"]
    return min(names, key=lambda name: ("-quote-" not in name, name), default="day log")


def _type_evening(day: DemoDay, number: int, logbook: Logbook) -> None:
    type_details(logbook, day.script["recording"][number]["typed"])


def type_details(logbook: Logbook, details: dict[str, str | int]) -> None:
    """What is typed in the evening: who the car belongs to, and what it is."""
    job = logbook.state.job
    new = {} if job is None else {name: SlotValue(v) for name, v in details.items() if not job.get(name)}
    if job is not None and new:
        logbook.commit([Draft(ev.JobDescribed(new, by="hand"), job.id)])


def _fresh(path: Path) -> Path:
    """A journal file name of this folder that is not taken: no journal is ever written over."""
    number = 1
    found = path
    while found.exists():
        number += 1
        found = path.with_stem(f"{path.stem}-{number}")
    return found
