"""Opens the real parts for a command: settings, card, journal, grammar, engine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from voicelog.errors import VoicelogError
from voicelog.settings import Settings, config_path, data_folder, grammars_folder

if TYPE_CHECKING:  # each part is imported where it is opened: a command waits for no room it does not use
    from voicelog.estimate.card.model import Card
    from voicelog.estimate.invoices import Office
    from voicelog.grammar import Grammar
    from voicelog.jobs.logbook import Logbook
    from voicelog.jobs.records import Job, State
    from voicelog.journal.events import Heard
    from voicelog.recognition.engine import Engine
    from voicelog.session.dialogue import Dialogue

GRAMMAR = "voicelog.jsgf"
ASLEEP = "asleep.jsgf"
LEXICON = "trade.dict"
USER_LEXICON = "my-words.dict"


def log_path(log: Path | None) -> Path:
    """The journal's file."""
    return log or data_folder() / "journal.db"


def existing_log(log: Path | None) -> Path:
    """The journal's file, which has to be there."""
    path = log_path(log)
    if not path.exists():
        raise VoicelogError("there is no journal yet", where=str(path), todo="say or hear something first")
    return path


def open_logbook(log: Path | None, *, writer: bool = True) -> Logbook:
    """Open the journal; what was put right on opening is told on standard error."""
    from voicelog.jobs.logbook import Logbook

    path = log_path(log) if writer else existing_log(log)
    logbook = Logbook.open(path, writer=writer, rescue_folder=config_path().parent / "waiting")
    for warning in logbook.warnings:
        typer.echo(f"voicelog: {warning}", err=True)
    return logbook


def open_card(card: Path | None, settings: Settings) -> Card:
    """The rate card given, else that of the settings, else the starting card of the country.

    It knows the agreements of the settings' folder.
    """
    from voicelog.estimate.agreements import with_agreements
    from voicelog.estimate.card import default_card, load_card

    path = card or (Path(settings.card).expanduser() if settings.card else None)
    found = default_card(settings.country) if path is None else load_card(path)
    folder = Path(settings.agreements).expanduser() if settings.agreements else None
    return with_agreements(found, folder or config_path().with_name("agreements"))


def open_grammar() -> Grammar:
    """The spoken language, with the user's own words."""
    from voicelog.grammar import load_grammar
    from voicelog.meaning.own_words import read_own_words

    own, _ = read_own_words(own_words_path())
    return load_grammar(grammars_folder() / GRAMMAR, own)


def own_words_path() -> Path:
    """Words of the user's own."""
    return config_path().with_name("words.toml")


def own_words_troubles(grammar: Grammar) -> list[str]:
    """Own words that cannot be used, a line each: unknown values, and what means something already."""
    from voicelog.meaning.own_words import read_own_words

    _, wrong = read_own_words(own_words_path())
    taken = [f'"{phrase}" already means something' for phrase in grammar.left_out]
    return [f"{own_words_path()}: {clause}; left out" for clause in (*wrong, *taken)]


def office_of(settings: Settings) -> Office:
    """What the settings say about invoices."""
    from voicelog.estimate.invoices import Office

    shop = settings.workshop
    seller = {
        "name": shop.name, "address": list(shop.address), "tax_number": shop.tax_number,
        "phone": shop.phone, "email": shop.email, "payment_terms": shop.payment_terms,
        "bank": list(shop.bank), "warranty": shop.warranty,
    }  # fmt: skip
    return Office(seller, shop.invoice_prefix, shop.payment_days, shop.prices_with_tax)


def open_dialogue(logbook: Logbook, card: Card, settings: Settings) -> Dialogue:
    """The conversation over a journal."""
    from voicelog.session.dialogue import Dialogue

    grammar = open_grammar()
    for line in own_words_troubles(grammar):
        typer.echo(f"voicelog: {line}", err=True)
    return Dialogue(
        logbook,
        grammar.network(),
        settings.region,
        card,
        grammar=grammar.sha256,
        office=office_of(settings),
        closes_clock=settings.clock == "close",
        puts_off=settings.listening.questions == "review",
    )


def lexicon_path() -> Path:
    """The trade's pronunciations."""
    return grammars_folder() / LEXICON


def user_lexicon_path() -> Path:
    """Pronunciations that this user taught."""
    return data_folder() / USER_LEXICON


def open_ears(engine: str | None, settings: Settings) -> Engine:
    """The recogniser for the spoken language, with the user's own pronunciations where there are any."""
    from voicelog.meaning.own_words import read_own_words
    from voicelog.recognition.open import open_engine

    own, _ = read_own_words(own_words_path())
    return open_engine(
        engine or settings.listening.engine,
        grammar=grammars_folder() / GRAMMAR,
        lexicon=joined_lexicon(),
        model=settings.listening.model or None,
        own=own,
    )


def asleep_path() -> Path:
    """The grammar of the time asleep: the wake phrase and its near misses."""
    return grammars_folder() / ASLEEP


def joined_lexicon() -> Path:
    """The trade's lexicon, with the user's own words behind it where there are any."""
    own = user_lexicon_path()
    if not own.exists():
        return lexicon_path()
    joined = own.with_suffix(".joined.dict")
    joined.write_text(
        lexicon_path().read_text(encoding="utf-8") + own.read_text(encoding="utf-8"), encoding="utf-8"
    )
    return joined


def chosen_jobs(state: State, number: int | None) -> list[Job]:
    """All jobs, or the one of a number."""
    # By what is known of every job without reading its events: a long journal has many.
    wanted = [job for job, known in state.opened.items() if number is None or known.number == number]
    jobs = [state.jobs[job] for job in wanted]
    if number is None:
        jobs = [job for job in jobs if job.joined_to is None]  # The job that it is part of shows both.
    if number is not None and not jobs:
        raise VoicelogError(f"there is no job {number}", todo="see the numbers with: voicelog price")
    return jobs


def heard_bodies(logbook: Logbook, job: str | None = None) -> list[Heard]:
    """What was heard, in order, of one job or of all."""
    from voicelog.journal.events import Heard

    return [event.body for event in logbook.heards(job) if isinstance(event.body, Heard)]
