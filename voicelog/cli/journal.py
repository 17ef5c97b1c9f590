"""Commands that keep the journal safe: verify, backup, restore, export, import, merge, forget."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from voicelog.cli.options import JsonOption, LogOption
from voicelog.cli.wiring import existing_log, log_path, open_logbook
from voicelog.errors import VoicelogError
from voicelog.files import check_no_pipe, kept_place, new_file
from voicelog.jobs.sqlite_views import JobViews
from voicelog.journal import connect
from voicelog.journal.backup import backup as copy_journal
from voicelog.journal.backup import restore as put_back
from voicelog.journal.exchange import export
from voicelog.journal.salvage import Lost
from voicelog.journal.salvage import salvage as save_whole
from voicelog.journal.seal import seal as code_over
from voicelog.journal.verify import verify as check_journal

PROGRESS_EVERY = 20


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (verify, seal, salvage, backup, restore, forget, merge):
        app.command()(command)
    app.command("export-journal")(export_journal)
    app.command("import-journal")(import_journal)


def progress_of(what: str) -> Callable[[int, int], None]:
    """Tells on a terminal how far a piece of work is."""
    terminal = sys.__stderr__
    if terminal is None or not terminal.isatty():
        return lambda done, total: None

    def tell(done: int, total: int) -> None:
        if total and (done >= total or done % max(1, total // PROGRESS_EVERY) == 0):
            end = "\n" if done >= total else "\r"
            terminal.write(f"{what}: {100 * done // total} %{end}")
            terminal.flush()

    return tell


def verify(
    log: LogOption = None,
    as_json: JsonOption = False,
    seal: Annotated[
        str | None,
        typer.Option("--seal", metavar="CODE", help="Is all there that was sealed with this code?"),
    ] = None,
    rebuild: Annotated[
        bool, typer.Option("--rebuild", help="First make the tables anew that the events add up to.")
    ] = False,
    full: Annotated[
        bool,
        typer.Option("--full", help="Make all tables anew, not only from the last check on."),
    ] = False,
) -> None:
    """Rebuild every view from the events and compare; check hashes and the file itself."""
    path = existing_log(log)
    if rebuild:
        with open_logbook(log) as logbook:
            logbook.rebuild()
    kept = kept_place("verified", str(connect.real(path).absolute()))
    report = check_journal(
        path, JobViews, seal=seal, kept=kept, full=full or rebuild, progress=progress_of("verify")
    )
    if as_json:
        typer.echo(json.dumps({"ok": report.ok, "events": report.events, "problems": report.problems}))
    else:
        for problem in report.problems:
            typer.echo(problem)
        if report.ok:
            gaps = f"; {report.gaps} gaps where it was salvaged" if report.gaps else ""
            typer.echo(f"{path}: {report.events} events, nothing wrong{gaps}")
    if report.only_views:
        raise VoicelogError(
            "the events are whole, tables made of them are not",
            where=str(path),
            todo=f"run: voicelog verify --rebuild --log {path}",
        )
    if not report.ok:
        new = path.with_name(f"{path.stem}-salvaged{path.suffix}")
        raise VoicelogError(
            "the journal is damaged",
            where=str(path),
            todo=f"save what is whole: voicelog salvage --log {path} --out {new}",
        )


def seal(log: LogOption = None) -> None:
    """Print a code over all that the journal holds; `verify --seal CODE` shows later what was cut off."""
    with open_logbook(log, writer=False) as logbook:
        typer.echo(code_over(logbook.store.connection))


def salvage(
    out: Annotated[Path, typer.Option("--out", metavar="NEW", help="A new file.")],
    log: LogOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a new journal of everything that is whole in a damaged one; list what is not."""
    path = existing_log(log)
    found = save_whole(path, out, JobViews, progress=progress_of("salvage"))
    with open_logbook(out, writer=False) as logbook:
        titles = {job: known.number for job, known in logbook.state.opened.items()}
    if as_json:
        lost = [{**vars(item), "job": titles.get(item.job or "")} for item in found.lost]
        typer.echo(json.dumps({**vars(found), "lost": lost}))
        return
    typer.echo(f"{out}: {found.events} events and {found.clips} clips saved")
    for item in found.lost:
        typer.echo(f"  lost: {_lost(item, titles)}")
    for number, what in ((len(found.details), "personal details"), (len(found.sounds), "clips")):
        if number:
            typer.echo(f"  lost: the {what} of {number} events")
    if found.reopened:
        typer.echo(f"  {found.reopened} jobs and dents opened anew because their opening is lost")
    typer.echo(
        f"look through it with: voicelog review --log {out}; a backup fills gaps: voicelog merge BACKUP"
    )


def _lost(item: Lost, numbers: dict[str, int]) -> str:
    count = item.last - item.first + 1
    what = f"{count} events" if count > 1 else (item.kind or "1 event")
    job = f", job {numbers[item.job]}" if item.job in numbers else ""
    after, before = item.after[:19].replace("T", " "), item.before[:19].replace("T", " ")
    return f"{what}{job}, between {after or 'the beginning'} and {before or 'the end'}: {item.why}"


def backup(
    target: Annotated[Path, typer.Argument(metavar="FILE", help="A new file.")],
    log: LogOption = None,
) -> None:
    """Copy the journal and its clips; works while listening."""
    events = copy_journal(existing_log(log), target, progress=progress_of("backup"))
    typer.echo(f"{target}: {events} events")


def restore(
    copy: Annotated[Path, typer.Argument(metavar="FILE", help="A backup.")],
    log: LogOption = None,
) -> None:
    """Put a backup in the journal's place; what was there is kept under another name."""
    aside = put_back(copy, log_path(log), progress=progress_of("restore"))
    typer.echo(f"{log_path(log)} restored" + (f"; the one before is {aside}" if aside else ""))


def export_journal(
    out: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="JSON Lines; default: standard output.")
    ] = None,
    log: LogOption = None,
) -> None:
    """Write the journal as JSON Lines."""
    path = existing_log(log)
    if out is None:
        export(path, sys.stdout)
        return
    out.parent.mkdir(parents=True, exist_ok=True)
    with new_file(out, private=True) as part, part.open("w", encoding="utf-8") as file:
        events = export(path, file, progress=progress_of("export"))
    typer.echo(f"{out}: {events} events")


def import_journal(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="An exported journal.")],
    log: LogOption = None,
) -> None:
    """Take in an exported journal: all of it or nothing."""
    check_no_pipe(file)
    with open_logbook(log) as logbook, file.open(encoding="utf-8") as lines:
        taken = logbook.take_in(lines, str(file), progress=progress_of("import"))
    typer.echo(f"{taken.new} new events, {taken.known} known")


def merge(
    other: Annotated[Path, typer.Argument(metavar="FILE", help="The journal of another device.")],
    log: LogOption = None,
    join: Annotated[
        bool | None,
        typer.Option("--join/--apart", help="Join jobs of one car, or leave them; else ask."),
    ] = None,
) -> None:
    """Take in the events and clips of another device's journal; jobs that are one car may be joined."""
    with open_logbook(log) as logbook:
        taken = logbook.merge(other, progress=progress_of("merge"))
        typer.echo(f"{taken.new} new events, {taken.known} known, {taken.clips} clips")
        from voicelog.cli.money import offer_joining

        with open_logbook(other, writer=False) as theirs:
            among = frozenset(theirs.state.opened)
        offer_joining(logbook, among, join)


def forget(
    customer: Annotated[str, typer.Argument(help="Name, plate, phone or email of the customer.")],
    log: LogOption = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask.")] = False,
) -> None:
    """Delete a customer's personal details and sound; the figures stay."""
    existing_log(log)
    with open_logbook(log) as logbook:
        jobs = logbook.jobs_of(customer)
        if not jobs:
            raise VoicelogError(
                f'no job knows "{customer}"', todo="give name, plate, phone or email as written"
            )
        names = ", ".join(job.title for job in jobs)
        if not yes and not typer.confirm(f"Forget the personal details of {names}? This cannot be undone."):
            return
        done = logbook.forget([job.id for job in jobs])
    typer.echo(f"{done.events} events and {done.clips} clips of {done.jobs} jobs forgotten; figures are kept")
    typer.echo("papers, backups and exports made before still hold them, and issued invoices their buyer")
    if done.old_quotes:
        typer.echo(
            f"voicelog: {done.old_quotes} quotes written by an older voicelog still hold title and plate: "
            "what is in an event stays",
            err=True,
        )
    if done.traces:
        typer.echo("voicelog: traces may remain until every other reader of the journal is closed", err=True)
