"""Commands that write the papers of the day and find its pictures: papers, photos."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from pathlib import Path
from typing import Annotated

import typer

from voicelog.cli.money import day_of, entries_of
from voicelog.cli.options import CardOption, JobOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import open_card, open_logbook
from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card, customer_key
from voicelog.estimate.ledger import statement
from voicelog.files import Written, name_part
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job, State
from voicelog.journal.events import Heard
from voicelog.papers.letterhead import Letterhead, letterhead_of
from voicelog.papers.photos.match import Matching, match_photos, parse_offset, reason_of
from voicelog.papers.tables.day_json import schema as day_log_schema
from voicelog.papers.write import (
    FORMATS,
    JOB_PAPERS,
    PAPERS,
    check_names,
    write_papers,
    write_statements,
)  # fmt: skip
from voicelog.settings import load_settings

ClockOption = Annotated[
    str, typer.Option("--camera-clock", help="How far the camera's clock is behind: seconds, or 0:58:12.")
]


DayOption = Annotated[str | None, typer.Option("--day", metavar="DATE", help="One day, ISO 8601; today.")]
FromOption = Annotated[str | None, typer.Option("--from", metavar="DATE", help="First of several days.")]
ToOption = Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last of several days.")]
KINDS = (*PAPERS, "statement")


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (papers, photos, schema):
        app.command()(command)


def papers(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    day: DayOption = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="First of several days.")
    ] = None,
    last: Annotated[str | None, typer.Option("--to", metavar="DATE", help="Last of several days.")] = None,
    job: JobOption = None,
    customer: Annotated[str | None, typer.Option("--customer", help="Only this customer's jobs.")] = None,
    kinds: Annotated[
        list[str] | None, typer.Option("--kind", "--paper", help=f"One of: {', '.join(KINDS)}.")
    ] = None,
    out: Annotated[Path, typer.Option("--out", metavar="FOLDER", help="Where the papers go.")] = Path(
        "papers"
    ),
    formats: Annotated[
        list[str] | None, typer.Option("--format", help=f"One of: {', '.join(FORMATS)}.")
    ] = None,
    pictures: Annotated[Path | None, typer.Option("--photos", help="Folder with the day's pictures.")] = None,
    clock: ClockOption = "0",
    as_json: JsonOption = False,
) -> None:
    """Write the papers of a day, of days, of a job or of a customer; today's without a choice."""
    given = load_settings(settings)
    check_names(kinds or (), KINDS, "kind of paper")
    check_names(formats or (), FORMATS, "format")
    letterhead = letterhead_of(given)
    days = (day or first, day or last)
    with open_logbook(log, writer=False) as logbook:
        choice = _choose(logbook, days, job, customer, letterhead.zone())
        desk = _Desk(logbook, open_card(card, given), letterhead, out, tuple(formats or FORMATS))
        wanted = kinds or (tuple(JOB_PAPERS) if job or customer else PAPERS)
        written = list(desk.write(choice, wanted, pictures, parse_offset(clock)))
        if "statement" in wanted:
            written.append(desk.statements(customer, choice))
    remarks = (choice.remark, *(text for part in written for text in part.remarks))
    for remark in filter(None, dict.fromkeys(remarks)):
        typer.echo(f"voicelog: {remark}", err=True)
    paths = list(dict.fromkeys(path for part in written for path in part))
    if as_json:
        typer.echo(json.dumps({"papers": [str(path) for path in paths]}))
        return
    replaced = {path for part in written for path in part.replaced}
    for path in paths:
        typer.echo(f"{path}{' (replaced)' if path in replaced else ''}")


@dataclass(frozen=True)
class _Choice:
    """The jobs that papers are asked of."""

    days: dict[date, set[str]]
    """Ids of jobs by the days that they were spoken of."""
    jobs: list[Job]
    span: tuple[date, date]
    only: str = ""
    """What it is limited to besides days; empty for every job of the days."""
    remark: str = ""


_ALWAYS = (date(1, 1, 2), date(9999, 12, 30))


def _choose(
    logbook: Logbook,
    days: tuple[str | None, str | None],
    number: int | None,
    customer: str | None,
    zone: tzinfo | None,
) -> _Choice:
    """By days, number and name; without any of them today, or the day of the newest job."""
    state = logbook.state
    only = f"job-{number:04d}" if number else name_part(customer or "")
    first, last = (None if text is None else day_of(text, "the day") for text in days)
    if first or last or only:
        span, remark = (first or _ALWAYS[0], last or _ALWAYS[1]), ""
    else:
        span, remark = _latest_day(logbook, zone)
    found = logbook.jobs_by_day(*span, zone)
    touched = {job for ids in found.values() for job in ids if _is_meant(state, job, number, customer)}
    if not touched:
        raise VoicelogError("there is no such job", todo="see the jobs with: voicelog price")
    chosen = {day: ids & touched for day, ids in found.items() if ids & touched}
    return _Choice(chosen, [state.jobs[job] for job in state.opened if job in touched], span, only, remark)


def _is_meant(state: State, job: str, number: int | None, customer: str | None) -> bool:
    if job not in state.opened or number not in (None, state.opened[job].number):
        return False
    return not customer or customer_key(str(state.jobs[job].get("customer") or "")) == customer_key(customer)


def _latest_day(logbook: Logbook, zone: tzinfo | None) -> tuple[tuple[date, date], str]:
    """Today, or the day of the newest job where nothing was logged today, which is said."""
    today = datetime.now(zone).date()
    opened = [known.opened_at for known in logbook.state.opened.values()]
    if not opened or logbook.jobs_by_day(today, today, zone):
        return (today, today), ""
    newest = datetime.fromisoformat(max(opened, key=datetime.fromisoformat))
    day = (newest if zone is None else newest.astimezone(zone)).date()
    return (day, day), f"nothing was logged today: these are the papers of {day}; choose with --day"


@dataclass(frozen=True)
class _Desk:
    """What papers are written with."""

    logbook: Logbook
    card: Card
    letterhead: Letterhead
    out: Path
    formats: tuple[str, ...]

    def write(
        self, choice: _Choice, kinds: Sequence[str], pictures: Path | None, clock: timedelta
    ) -> Iterator[Written]:
        """The papers of the jobs, then the log of each day."""
        matched = None
        if pictures is not None:
            matched = match_photos(pictures, choice.jobs, offset=clock, zone=self.letterhead.zone())
        written = self._papers(choice.jobs, [kind for kind in kinds if kind in JOB_PAPERS], (), matched, None)
        written.remarks += _about_pictures(matched)
        yield written
        for day, ids in choice.days.items() if "day-log" in kinds else ():
            jobs = [job for job in choice.jobs if job.id in ids]
            events = self.logbook.heards_on(day, self.letterhead.zone())
            mine = [event for event in events if event.job in ids or not (event.job or choice.only)]
            heards = [event.body for event in mine if isinstance(event.body, Heard)]
            yield self._papers(jobs, ["day-log"], heards, matched, day, choice.only)

    def _papers(
        self,
        jobs: Sequence[Job],
        kinds: Sequence[str],
        heards: Sequence[Heard],
        matched: Matching | None,
        day: date | None,
        only: str = "",
    ) -> Written:
        now = datetime.now().astimezone()
        return write_papers(
            self.logbook.state, self.card, self.letterhead, self.out,
            jobs=jobs, which=kinds, formats=self.formats, heards=heards, photos=matched, day=day, only=only,
            seal=self.logbook.seal, now=now,
        )  # fmt: skip

    def statements(self, customer: str | None, choice: _Choice) -> Written:
        """The accounts of one customer."""
        if not customer:
            raise VoicelogError("a statement is of one customer", todo="name them with --customer")
        first, last = (day.isoformat() for day in choice.span)
        now = datetime.now(self.letterhead.zone())
        accounts = statement(entries_of(self.logbook), customer, first, last, now.date())
        if not accounts:
            raise VoicelogError(
                f"no invoice was issued to {customer}", todo="see the names with: voicelog ledger"
            )
        return write_statements(
            accounts, self.letterhead, self.out, formats=self.formats, seal=self.logbook.seal, now=now
        )


def _about_pictures(matched: Matching | None) -> list[str]:
    """What to do where pictures found no mark."""
    if matched is None or not matched.unmatched:
        return []
    lines = [f"{len(matched.unmatched)} pictures belong to no photo mark; see: voicelog photos FOLDER"]
    return lines + _suggested(matched)


def _suggested(matched: Matching) -> list[str]:
    if matched.suggestion is None:
        return []
    return [f"more pictures would match with: --camera-clock {matched.suggestion.total_seconds():.0f}"]


def schema() -> None:
    """Print the JSON schema of the day log."""
    typer.echo(json.dumps(day_log_schema(), indent=2))


def photos(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder with the day's pictures.")],
    log: LogOption = None,
    settings: SettingsOption = None,
    clock: ClockOption = "0",
    as_json: JsonOption = False,
) -> None:
    """Match pictures to spoken photo marks by their time; pictures are only read."""
    zone = letterhead_of(load_settings(settings)).zone()
    with open_logbook(log, writer=False) as logbook:
        jobs = list(logbook.state.jobs.values())
        found = match_photos(folder, jobs, offset=parse_offset(clock), zone=zone)
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
    for line in _suggested(found):
        typer.echo(line)
