"""Commands that fit the ear to voice and room: check, teach, model."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from voicelog.cli.options import EngineOption, LogOption, SettingsOption
from voicelog.cli.rehearsing import PHRASES, keep, need_rehearsal, recorder
from voicelog.cli.wiring import (
    GRAMMAR,
    joined_lexicon,
    lexicon_path,
    log_path,
    open_ears,
    open_grammar,
    own_words_path,
    own_words_troubles,
    user_lexicon_path,
)
from voicelog.errors import VoicelogError
from voicelog.grammar import Grammar, load_grammar
from voicelog.listening import Chunk, Microphone
from voicelog.listening.levels import measure
from voicelog.meaning.own_words import own_words, why_none, write_own_word
from voicelog.recognition.lexicon import read_lexicon
from voicelog.recognition.open import open_engine
from voicelog.recognition.pocketsphinx.decoder import model_folder, unspelled
from voicelog.recognition.rehearsal import rehearse, score
from voicelog.recognition.teach import PhoneDecoder, Phones, add_to_lexicon
from voicelog.recognition.teach import teach as find_pronunciation
from voicelog.recognition.vosk.models import fetch_small_english, find_model
from voicelog.settings import Settings, config_path, grammars_folder, load_settings
from voicelog.sound import portaudio
from voicelog.sound.format import Samples

LISTEN_S = 2.0
"""So long `check` listens to the room."""
REPETITIONS = 3
NOT_READY = 2
"""Exit status of `check` without a microphone: something that the user can mend."""

model_app = typer.Typer(rich_markup_mode=None)


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    app.command()(check)
    app.command()(teach)
    app.add_typer(model_app, name="model")


def check(
    log: LogOption = None,
    settings: SettingsOption = None,
    engine: EngineOption = None,
    device: Annotated[
        str | None, typer.Option("--device", help="Microphone: name, part of it, or number.")
    ] = None,
    rehearse_now: Annotated[
        bool, typer.Option("--rehearse", help="Say ten phrases and see which words are lost.")
    ] = False,
) -> None:
    """Check folders, grammar, engine, model and microphone; ends with 2 where nothing could be heard."""
    given = load_settings(settings)
    for line in _folders(log):
        typer.echo(line)
    grammar = open_grammar()
    words = len(grammar.network().words())
    typer.echo(f"grammar     {words} words, hash {grammar.sha256[:12]}")
    for line in _own_words(grammar):
        typer.echo(f"own words   {line}")
    began = time.monotonic()
    ears = open_ears(engine, given)
    typer.echo(f"engine      {ears.name}, ready in {time.monotonic() - began:.1f} s; {ears.why}")
    typer.echo(f"model       {ears.model}")
    wanted = _device(device or given.listening.device)
    deaf = _sound(wanted)
    if deaf is not None:
        typer.echo(f"microphone  {deaf.line()}; recordings and typed words work without one")
        raise typer.Exit(NOT_READY)
    if rehearse_now:
        report, recorded = rehearse(PHRASES, recorder(wanted), lambda sound: ears.decode(sound).words)
        keep(recorded)
        for line in report.lines():
            typer.echo(line)


def _folders(log: Path | None) -> Iterator[str]:
    settings = config_path()
    yield f"settings    {settings}{'' if settings.exists() else ' (not there: defaults)'}"
    journal = log_path(log)
    yield f"journal     {journal}{'' if journal.exists() else ' (not there yet)'}"
    yield f"lexicon     {lexicon_path()}"
    own = user_lexicon_path()
    yield f"taught      {own}{'' if own.exists() else ' (none taught yet)'}"


def _own_words(grammar: Grammar) -> Iterator[str]:
    """The user's own words, what is wrong with some, and what the plain engine cannot be told to hear."""
    path = own_words_path()
    phrases = list(dict.fromkeys(word.phrase for word in grammar.own))
    yield f"{path}: {len(phrases)} in use" if path.exists() else f"{path} (not there)"
    yield from own_words_troubles(grammar)
    for word in unspelled(" ".join(phrases).split(), model_folder(None), joined_lexicon()):
        yield f'PocketSphinx cannot hear "{word}" before: voicelog teach {word}'


def _device(text: str) -> str | int | None:
    return (int(text) if text.isdigit() else text) or None


def _sound(wanted: str | int | None) -> VoicelogError | None:
    """Print the microphones, and level and noise of the one chosen; why it cannot be used, else None."""
    try:
        sd = portaudio.load()
        for found in portaudio.devices(sd, "input"):
            typer.echo(f"microphone  {found.number} {found.name}{' (default)' if found.default else ''}")
        typer.echo(_room(Microphone(wanted, sd=sd)))
    except VoicelogError as error:
        return error
    return None


def _room(microphone: Microphone) -> str:
    """Level and noise of some seconds, best with something said in them."""
    report = measure(_some(microphone))
    found = "; ".join(report.findings()) or "fine"
    return f"room        noise {report.noise_dbfs:.0f} dBFS, {found}; {microphone.overflows} overflows"


def _some(microphone: Microphone) -> Iterator[Chunk]:
    for chunk in microphone:
        yield chunk
        if chunk.end_s >= LISTEN_S:
            microphone.stop()
            return


def teach(
    word: Annotated[str, typer.Argument(help="A word that can be said, or with --means one of your own.")],
    means: Annotated[
        str | None,
        typer.Option(
            "--means", metavar="VALUE", help="What it stands for, or: tool, risk. Kept in words.toml."
        ),
    ] = None,
    settings: SettingsOption = None,
    device: Annotated[
        str | None, typer.Option("--device", help="Microphone: name, part of it, or number.")
    ] = None,
) -> None:
    """Learn how you say a word if a rehearsal comes out better with it; or what one of yours means."""
    if means is not None:
        typer.echo(_take_word(word, means))
        return
    given = load_settings(settings)
    said = word.lower()
    if said not in open_grammar().network().words():
        raise VoicelogError(f'"{word}" is no word that can be said', todo="see: voicelog sheet")
    rehearsal = need_rehearsal()
    record = recorder(_device(device or given.listening.device))
    sounds = [sound for _ in range(REPETITIONS) if (sound := record(said)) is not None]
    known = _known(said)
    taught = find_pronunciation(
        said,
        sounds,
        known,
        PhoneDecoder(),
        lambda phones: _words_right(said, phones, rehearsal, given),
    )
    if taught.kept is not None:
        own = user_lexicon_path()
        for phones in [*known, taught.kept]:
            add_to_lexicon(own, said, phones)
    typer.echo(taught.line())


def _take_word(phrase: str, means: str) -> str:
    """Write an own word down where it can be one."""
    words = own_words(phrase, means)
    wrong = "" if words else why_none(phrase, means)
    if words and load_grammar(grammars_folder() / GRAMMAR, words).left_out:
        wrong = f'"{phrase}" already means something'
    if wrong:
        raise VoicelogError(wrong, todo="see what can be said with: voicelog sheet")
    write_own_word(own_words_path(), phrase, means)
    return f'"{phrase}" now stands for {means}'


def _known(word: str) -> list[Phones]:
    """Pronunciations a word has now: own ones, the trade's, else the engine's dictionary."""
    import pocketsphinx

    wanted = frozenset({word})
    lexicon = read_lexicon(joined_lexicon(), wanted)
    if word not in lexicon:
        lexicon = read_lexicon(Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")), wanted)
    return lexicon.get(word, [])


def _words_right(
    word: str, phones: Phones | None, rehearsal: list[tuple[str, Samples]], settings: Settings
) -> float:
    """Share of the rehearsal's words heard right when a pronunciation is added."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        trial = Path(folder) / "trial.dict"
        trial.write_text(joined_lexicon().read_text(encoding="utf-8"), encoding="utf-8")
        if phones is not None:
            for each in [*_known(word), phones]:
                add_to_lexicon(trial, word, each)
        engine = open_engine(
            "pocketsphinx", grammar=grammars_folder() / GRAMMAR, lexicon=trial, own=open_grammar().own
        )
        return score(rehearsal, lambda sound: engine.decode(sound).words).words_right


@model_app.callback(invoke_without_command=True)
def model(context: typer.Context, settings: SettingsOption = None) -> None:
    """Say which Vosk model is used, or how to get one."""
    if context.invoked_subcommand is not None:
        return
    found = find_model(load_settings(settings).listening.model or None)
    if found:
        typer.echo(f"Vosk model: {found}")
    else:
        typer.echo("No Vosk model. Get the small English one: voicelog model fetch")


@model_app.command()
def fetch() -> None:
    """Fetch the small English Vosk model from its public address (about 40 MB)."""
    place = fetch_small_english(progress=_fetched)
    typer.echo(f'\n{place}: ready; it is used with --engine vosk, or engine = "vosk" in the settings')


def _fetched(done: int, total: int) -> None:
    if total:
        typer.echo(f"\r{100 * done // total} %", nl=False, err=True)
