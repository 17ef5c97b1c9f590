"""Commands that write the papers of the day and find its pictures: papers, photos."""

from __future__ import annotations

import json
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from voicelog.cli.options import CardOption, JobOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import chosen_jobs, existing_log, heard_bodies, open_card, open_logbook
from voicelog.papers.letterhead import letterhead_of
from voicelog.papers.photos.match import match_photos, parse_offset, reason_of
from voicelog.papers.write import FORMATS, PAPERS, write_papers
from voicelog.settings import load_settings

ClockOption = Annotated[
    str, typer.Option("--camera-clock", help="How far the camera's clock is behind: seconds, or 0:58:12.")
]


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (papers, photos):
        app.command()(command)


def papers(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    job: JobOption = None,
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the papers go.")] = Path(
        "papers"
    ),
    which: Annotated[list[str] | None, typer.Option("--paper", help=f"One of: {', '.join(PAPERS)}.")] = None,
    formats: Annotated[
        list[str] | None, typer.Option("--format", help=f"One of: {', '.join(FORMATS)}.")
    ] = None,
    pictures: Annotated[Path | None, typer.Option("--photos", help="Folder with the day's pictures.")] = None,
    clock: ClockOption = "0",
    as_json: JsonOption = False,
) -> None:
    """Write estimate sheet, invoice, work record and day log."""
    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(log, writer=False) as logbook:
        jobs = chosen_jobs(logbook.state, job)
        matched = None if pictures is None else match_photos(pictures, jobs, offset=parse_offset(clock))
        written = write_papers(
            logbook.state,
            rates,
            letterhead_of(given, existing_log(log).parent),
            out,
            jobs=jobs,
            which=which or PAPERS,
            formats=formats or FORMATS,
            heards=heard_bodies(logbook),
            photos=matched,
            now=datetime.now().astimezone(),
        )
    for remark in written.remarks:
        typer.echo(f"voicelog: {remark}", err=True)
    if as_json:
        typer.echo(json.dumps({"papers": [str(path) for path in written]}))
        return
    for path in written:
        typer.echo(f"{path}{' (replaced)' if path in written.replaced else ''}")


def photos(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder with the day's pictures.")],
    log: LogOption = None,
    clock: ClockOption = "0",
    as_json: JsonOption = False,
) -> None:
    """Match pictures to spoken photo marks by their time; pictures are only read."""
    with open_logbook(log, writer=False) as logbook:
        found = match_photos(folder, list(logbook.state.jobs.values()), offset=parse_offset(clock))
    if as_json:
        typer.echo(json.dumps(found.to_json(), ensure_ascii=False))
        return
    for match in found.matches:
        dent = "" if match.mark.dent is None else f", dent {match.mark.dent}"
        typer.echo(f"{match.shot.path.name}: job {match.mark.job_number}, photo {match.mark.number}{dent}")
    for shot in found.unmatched:
        typer.echo(f"{shot.path.name}: {reason_of(shot)}")
    for mark in found.unused:
        typer.echo(f"job {mark.job_number}, photo {mark.number}: no picture")
    if found.suggestion is not None:
        typer.echo(f"more pictures would match with: --camera-clock {found.suggestion.total_seconds():.0f}")
