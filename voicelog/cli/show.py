"""Commands that show what is in the journal: price, board, review; and what can be said: sheet."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from voicelog.board.serve import LOOPBACK, PORT, serve_board
from voicelog.cli.options import CardOption, JobOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import (
    chosen_jobs,
    existing_log,
    open_card,
    open_dialogue,
    open_grammar,
    open_logbook,
)
from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.estimate.estimate import Estimate
from voicelog.estimate.explain import explain as explained
from voicelog.estimate.money import format_money
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.logbook import Logbook
from voicelog.jobs.records import Job
from voicelog.settings import load_settings


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (price, board, review, sheet):
        app.command()(command)


def price(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    job: JobOption = None,
    as_json: JsonOption = False,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say for each figure which entry made it.")
    ] = False,
) -> None:
    """Print the estimate of each job."""
    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(log, writer=False) as logbook:
        jobs = chosen_jobs(logbook.state, job)
    if as_json:
        found = [price_job(item, rates).to_json() for item in jobs]
        typer.echo(json.dumps({"jobs": found}, ensure_ascii=False, indent=2))
    else:
        print_estimates(jobs, rates, explain=explain)


def print_estimates(jobs: Sequence[Job], card: Card, *, explain: bool) -> None:
    """Estimates as text."""
    for item in jobs:
        estimate = price_job(item, card)
        typer.echo(item.title)
        for line in estimate.lines:
            if line.amount is not None:
                amount = _range(line.amount.low, line.amount.high, card)
                typer.echo(f"  {_dents(line.dents):<8}{line.text:<58.58} {amount:>22}")
            else:
                reason = line.reason or line.text
                typer.echo(
                    f"  {_dents(line.dents):<8}{line.text}: {reason}" if line.reason else f"  {reason}"
                )
        _print_total(estimate, card)
        if explain:
            typer.echo("")
            for text in explained(estimate):
                typer.echo(f"  {text}")
        typer.echo("")


def _dents(dents: Sequence[int]) -> str:
    return " ".join(str(number) for number in dents[:3])


def _range(low: object, high: object, card: Card) -> str:
    texts = [format_money(figure, card.currency) for figure in (low, high)]  # type: ignore[arg-type]
    return texts[0] if texts[0] == texts[1] else " to ".join(texts)


def _print_total(estimate: Estimate, card: Card) -> None:
    total = _range(estimate.total.low, estimate.total.high, card)
    typer.echo(f"  {'':8}{'Total' if estimate.confirmed else 'Total, not settled':<58} {total:>22}")
    for item in estimate.unsettled:
        typer.echo(f"  {'':8}open: {item.text()}")


def board(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    large: Annotated[bool, typer.Option("--large", help="Large type.")] = False,
    light: Annotated[bool, typer.Option("--light", help="Dark letters on a light ground.")] = False,
    serve: Annotated[bool, typer.Option("--serve", help="Serve it to a browser on this machine.")] = False,
    host: Annotated[
        str, typer.Option("--host", help="With --serve: address; others than this machine see all.")
    ] = LOOPBACK,
    port: Annotated[int, typer.Option("--port", help="With --serve.")] = PORT,
    write: Annotated[
        bool | None, typer.Option("--write/--read-only", help="May records be changed? Served: with --write.")
    ] = None,
) -> None:
    """Show the board over the journal, without listening."""
    if serve:
        given = {"--log": existing_log(log), "--card": card, "--settings": settings}
        options = [text for name, path in given.items() if path for text in (name, str(path.absolute()))]
        flags = [name for name, wanted in (("--large", large), ("--light", light)) if wanted]
        flags.append("--write" if write else "--read-only")
        command = [sys.executable, "-m", "voicelog", "board", *options, *flags]
        serve_board(command, host=host, port=port, say=typer.echo)
        return
    _show_board(log, card, settings, review=False, large=large, light=light, write=write is not False)


def review(log: LogOption = None, card: CardOption = None, settings: SettingsOption = None) -> None:
    """Correct the day at the desk, with keyboard and mouse."""
    _show_board(log, card, settings, review=True)


def _show_board(
    log: Path | None,
    card: Path | None,
    settings: Path | None,
    *,
    review: bool,
    large: bool = False,
    light: bool = False,
    write: bool = True,
) -> None:
    from voicelog.board.app import BoardApp
    from voicelog.cli.live import board_settings, desk

    given = load_settings(settings)
    rates = open_card(card, given)
    if not sys.stdout.isatty() and "TEXTUAL_DRIVER" not in os.environ:  # set where it is served
        raise VoicelogError(
            "the board needs a terminal", todo="use voicelog price or voicelog papers instead"
        )
    logbook, alone = _logbook_to_show(log, review, write=write)
    with logbook:
        dialogue = open_dialogue(logbook, rates, given)
        shown = board_settings(given, large=large, light=light)
        board = BoardApp(
            logbook,
            rates,
            shown,
            desk=desk(logbook, rates, given, dialogue),
            review=review,
            only_shows=not alone,
        )
        board.run()


def _logbook_to_show(log: Path | None, review: bool, *, write: bool) -> tuple[Logbook, bool]:
    """The journal, and whether it may be written: the board also looks on while another session writes."""
    if not write:
        return open_logbook(log, writer=False), False
    try:
        return open_logbook(log, writer=True), True
    except VoicelogError:
        if review:
            raise
        return open_logbook(log, writer=False), False


def sheet(
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write it as HTML or PDF.")
    ] = None,
) -> None:
    """Print the say-card: everything that can be said."""
    import shutil

    from voicelog.grammar.saycard import say_card

    card = say_card(open_grammar())
    if out is None:
        typer.echo(card.to_text(min(shutil.get_terminal_size((100, 40)).columns, 120)))
    else:
        from voicelog.papers.layout.say_card import write_say_card

        write_say_card(card, out)
        typer.echo(str(out))
