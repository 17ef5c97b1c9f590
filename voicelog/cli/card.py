"""Commands that fit the tool to user and workshop: check, teach, learn, card, model."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from voicelog.cli.options import CardOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import open_card, open_logbook
from voicelog.errors import VoicelogError
from voicelog.estimate.card import load_card
from voicelog.estimate.card.print import card_as_text
from voicelog.estimate.card.start import starting_card_text
from voicelog.estimate.learning.learn import learn as learn_factors
from voicelog.estimate.learning.proposed_card import proposed_card_text
from voicelog.estimate.learning.takings import WAYS, net_of, takings
from voicelog.files import write_atomically
from voicelog.settings import load_settings

card_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(learn)
    app.add_typer(card_app, name="card")


@card_app.callback()
def card() -> None:
    """The rate card: new, check, show."""


@card_app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A new file.")],
    country: Annotated[str, typer.Option("--country", help="ISO 3166 code: GB, US, IE …")] = "GB",
) -> None:
    """Write a commented starting card."""
    if file.exists():
        raise VoicelogError("is there already", where=str(file), todo="give a new file")
    write_atomically(file, starting_card_text(country).encode())
    typer.echo(f"{file}: a starting card; put in your own rates")


@card_app.command()
def check(file: Annotated[Path, typer.Argument(metavar="FILE", help="A rate card.")]) -> None:
    """Check a card: every problem with table, key, value and what is allowed."""
    card = load_card(file)
    typer.echo(f"{file}: valid, {card.currency}, hash {card.hash[:12]}")


@card_app.command()
def show(file: Annotated[Path, typer.Argument(metavar="FILE", help="A rate card.")]) -> None:
    """Print a card for people."""
    typer.echo(card_as_text(load_card(file)))


def learn(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Where the proposed card goes.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Compare worked with estimated minutes of finished jobs; propose changes, never apply them."""
    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(log, writer=False) as logbook:
        proposal = learn_factors(logbook.state.jobs.values(), rates)
        finished = [job for job in logbook.state.jobs.values() if job.finished_at]
    nets = {job.id: net_of(job, rates) for job in finished}
    groups = {by: takings(finished, nets, by) for by in WAYS}
    if as_json:
        earned = {by: [group.to_json(rates.currency) for group in found] for by, found in groups.items()}
        typer.echo(json.dumps({**asdict(proposal), "takings": earned}))
        return
    for by, found in groups.items():
        for group in found:
            typer.echo(f"by {by}: {group.text(rates.currency)}")
    for line in proposal.lines():
        typer.echo(line)
    text, changes = proposed_card_text(proposal, rates)
    if not changes:
        typer.echo("No change is clear enough to propose.")
        return
    place = out or _beside(card, given.card)
    write_atomically(place, text.encode())
    typer.echo(f"{len(changes)} changes proposed in {place}; compare and copy what you agree with")


def _beside(card: Path | None, from_settings: str) -> Path:
    """Where a proposed card goes: beside the old one."""
    old = card or (Path(from_settings) if from_settings else Path("rate-card.toml"))
    return old.with_name(f"{old.stem}.proposed.toml")
