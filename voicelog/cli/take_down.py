"""Commands that take words down: hear, say, listen, demo."""

from __future__ import annotations

import json
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from voicelog.cli.options import CardOption, EngineOption, JsonOption, LogOption, SettingsOption
from voicelog.cli.wiring import asleep_path, open_card, open_dialogue, open_ears, open_logbook
from voicelog.errors import VoicelogError
from voicelog.session import reports
from voicelog.settings import Settings, config_path, load_settings

if TYPE_CHECKING:  # typed words do not wait for the rooms of sound and screens
    from voicelog.answering import Answerer
    from voicelog.jobs.logbook import Logbook
    from voicelog.journal.clips import Clips
    from voicelog.listening import HalfDuplexGate, Microphone, Recording
    from voicelog.session.dialogue import Outcome
    from voicelog.session.listening_loop import Ear


def register(app: typer.Typer) -> None:
    """Add the commands of this module."""
    for command in (demo, listen, hear, say):
        app.command()(command)


MARKS = {"accepted": "✓", "asked": "?", "rejected": "×", "kept": "~"}
PLAIN = str.maketrans("✓×→▲…", "+x>!.")
"""Marks for a console that lacks the better ones (cp1252)."""


def hear(
    recordings: Annotated[list[Path], typer.Argument(metavar="WAV…", help="WAV or FLAC files.")],
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    engine: EngineOption = None,
    as_json: JsonOption = False,
    board: Annotated[bool, typer.Option("--board", help="Show the board, at real speed.")] = False,
    start: Annotated[
        str | None,
        typer.Option("--start", metavar="TIME", help="When the first began, as in 2026-03-02T09:00."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Also what was taken down before.")] = False,
) -> None:
    """Take down every utterance of recordings, at the times at which they were spoken."""
    from voicelog.journal.clips import Clips
    from voicelog.listening import Paced, SegmenterSettings
    from voicelog.session.listening_loop import Ear

    given = load_settings(settings)
    sources = _one_after_the_other(recordings, None if start is None else _moment(start))
    rates = open_card(card, given)
    with open_logbook(log) as logbook:
        sources = sources if again else _not_heard_before(sources, logbook, ask=not as_json)
        dialogue = open_dialogue(logbook, rates, given)
        clips = Clips.beside(logbook.store.path or "")
        ear = Ear(dialogue, open_ears(engine, given), clips)
        _purge(clips, given)
        ear.asleep = asleep_path()
        ear.segmenting = SegmenterSettings(silence_s=given.listening.silence_s)
        if board:
            from voicelog.cli.live import live_board

            live_board(logbook, rates, given, ear, [Paced(source) for source in sources])
            return
        ear.feed = _warn
        counts = Counter[str]()
        for source in sources:
            for outcome in _with_place(ear.hear(source), source, shown=not as_json):
                show(outcome, as_json)
                counts[outcome.heard.decision] += 1
        if not as_json:
            typer.echo(_summary(counts, sum(len(job.questions) for job in logbook.state.jobs.values())))


def _with_place(outcomes: Iterator[Outcome], source: Recording, *, shown: bool) -> Iterator[Outcome]:
    """The outcomes; on a terminal a bar says how far the recording is, and how long it will take."""
    if not (shown and sys.stderr.isatty()):
        yield from outcomes
        return
    with typer.progressbar(length=int(source.duration_s), label=source.name, file=sys.stderr) as bar:
        for outcome in outcomes:
            sys.stderr.write("\r\033[K")  # the line of the bar is taken back for what was said
            yield outcome
            bar.update(int(outcome.heard.end_s) - bar.pos)


def _summary(counts: Counter[str], waiting: int) -> str:
    """What became of all that was heard, and what to do next."""
    names = {"accepted": "understood", "asked": "asked", "kept": "kept as words"}
    names["rejected"] = "refused or not for us"
    told = ", ".join(f"{counts[decision]} {name}" for decision, name in names.items() if counts[decision])
    if not told:
        return "Nothing was said."
    todo = f"{waiting} to settle: voicelog review" if waiting else "nothing waits; see: voicelog price"
    return f"{told}; {todo}"


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise VoicelogError(f'"{text}" is no time', where="--start", todo="as in 2026-03-02T09:00") from None


def _one_after_the_other(paths: list[Path], start: datetime | None) -> list[Recording]:
    """The recordings; with a start, each begins where the one before ended."""
    from voicelog.listening import Recording

    found: list[Recording] = []
    for path in paths:
        found.append(Recording(path, start))
        if start is not None:
            start += timedelta(seconds=found[-1].duration_s)
    return found


def _not_heard_before(sources: list[Recording], logbook: Logbook, *, ask: bool) -> list[Recording]:
    """Leave out what was taken down before, unless the user, asked in a terminal, wants it again."""
    new: list[Recording] = []
    for source in sources:
        twice = source.fingerprint in [other.fingerprint for other in new]
        if twice or logbook.heard_before(source.fingerprint):
            if not (ask and sys.stdin.isatty()):
                todo = "give --again to take it down once more"
                raise VoicelogError("was taken down before", where=source.name, todo=todo)
            if not typer.confirm(f"{source.name} was taken down before. Once more?"):
                continue
        new.append(source)
    return new


def _purge(clips: Clips, settings: Settings) -> None:
    """Delete sound that was kept long enough, once all is there to listen with."""
    if clips.purge(settings.listening.keep_clips_days) is None:
        typer.echo("voicelog: the date is far ahead of the last one; old sound stays for now", err=True)


def _warn(item: reports.FeedItem) -> None:
    if isinstance(item, reports.Trouble):
        typer.echo(f"voicelog: {item.text}", err=True)


def say(
    words: Annotated[
        list[str] | None, typer.Argument(help="What is said; without it, lines of standard input.")
    ] = None,
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take down typed words, as if they had been spoken."""
    from voicelog.recognition.hypothesis import Hypothesis

    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(log) as logbook:
        dialogue = open_dialogue(logbook, rates, given)
        lines = words or (line.strip() for line in sys.stdin)
        for line in lines:
            if line:
                show(dialogue.take(Hypothesis(line, engine="typed")), as_json)
                if logbook.trouble:
                    _warn(reports.Trouble(logbook.trouble))


def show(outcome: Outcome, as_json: bool) -> None:
    """Print one outcome, and have it out before the next is taken."""
    if as_json:
        typer.echo(json.dumps(outcome.to_json(), ensure_ascii=False))
    else:
        heard = outcome.heard
        mark = "…" if outcome.waits else MARKS[heard.decision]
        waits = " (waiting: not on disk yet)" if outcome.waits else ""
        _tell_line(f"{heard.utterance:>4} {mark} ", f"{heard.words or '(nothing for us)'}{waits}")
        if heard.decision != "rejected" or heard.reason:
            _tell_line("       → ", heard.answer + (f"  ({heard.reason})" if heard.reason else ""))
        for caution in outcome.cautions:
            _tell_line("       ▲ ", caution.text)
    sys.stdout.flush()


def show_briefly(outcome: Outcome) -> None:
    """Print one outcome on a line; its answer too, where that says more than what was said."""
    heard = outcome.heard
    tells = heard.decision != "accepted" or heard.kind == "question" or "£" in heard.answer
    answer = f" → {heard.answer}" if tells else ""
    _tell_line(f"  {MARKS[heard.decision]} ", f"{heard.words}{answer}")
    for caution in outcome.cautions:
        _tell_line("    ▲ ", caution.text.partition(". ")[0].partition(": ")[0] + " …")


def _tell_line(mark: str, text: str) -> None:
    """Print a line with a mark that the console can show."""
    try:
        mark.encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        mark = mark.translate(PLAIN)
    typer.echo(mark + text)


def listen(
    log: LogOption = None,
    card: CardOption = None,
    settings: SettingsOption = None,
    engine: EngineOption = None,
    device: Annotated[
        str | None, typer.Option("--device", help="Microphone: name, part of it, or number.")
    ] = None,
    board: Annotated[bool, typer.Option("--board/--no-board", help="Show the board.")] = True,
    mute: Annotated[bool, typer.Option("--mute", help="Give no audible answers.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Listen to the microphone."""
    from voicelog.answering import SilentAnswerer
    from voicelog.journal.clips import Clips
    from voicelog.listening import HalfDuplexGate, Microphone, SegmenterSettings
    from voicelog.session.listening_loop import Ear

    if board and settings is None and sys.stdout.isatty() and not config_path().exists():
        from voicelog.cli.first import guide

        guide()
    given = load_settings(settings)
    rates = open_card(card, given)
    with open_logbook(log) as logbook:
        dialogue = open_dialogue(logbook, rates, given)
        gate = HalfDuplexGate()
        answerer: Answerer = SilentAnswerer() if mute else _speaker(given, gate)
        clips = Clips.beside(logbook.store.path or "")
        ear = Ear(dialogue, open_ears(engine, given), clips, answerer)
        ear.segmenting = SegmenterSettings(silence_s=given.listening.silence_s)
        ear.asleep = asleep_path()
        try:
            microphone = Microphone(
                _device(device or given.listening.device),
                gate=gate,
                on_state=lambda state, line: ear.feed(_ear_item(state, line, ear)),
            )
            _purge(clips, given)
            if board and sys.stdout.isatty():
                from voicelog.cli.live import live_board

                live_board(logbook, rates, given, ear, [microphone])
            else:
                _listen_plainly(ear, microphone, as_json)
        finally:
            answerer.close()


def _listen_plainly(ear: Ear, microphone: Microphone, as_json: bool) -> None:
    ear.feed = _tell
    stop = threading.Event()
    try:
        for outcome in ear.hear(microphone, stop):
            show(outcome, as_json)
    except KeyboardInterrupt:
        microphone.stop()
        raise


def _tell(item: reports.FeedItem) -> None:
    if isinstance(item, reports.EarChanged):
        typer.echo(f"voicelog: {item.state}: {item.device}", err=True)
    _warn(item)


def _ear_item(state: str, line: str, ear: Ear) -> reports.FeedItem:
    """A change of the microphone as the board knows it."""
    if state == "lost":
        return reports.EarChanged("lost", line, ear.engine.name)
    awake = ear.dialogue.logbook.state.awake
    return reports.EarChanged("listening" if awake else "asleep", line, ear.engine.name)


def _device(text: str) -> str | int | None:
    if not text:
        return None
    return int(text) if text.isdigit() else text


def _speaker(settings: Settings, gate: HalfDuplexGate) -> Answerer:
    from voicelog.answering import Player, open_answerer

    player = Player(on_sounding=gate.close)
    return open_answerer(player, spoken=settings.listening.spoken, volume=settings.listening.volume)


def demo(
    folder: Annotated[
        Path | None,
        typer.Option(
            "--out", metavar="FOLDER", help="Where journal and papers go; default: ./voicelog-demo."
        ),
    ] = None,
    board: Annotated[bool, typer.Option("--board", help="Show the board, at real speed.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Run the invented day: recognise its recordings, print jobs and estimates, write the papers."""
    if board and not sys.stdout.isatty():
        raise VoicelogError("the board needs a terminal", todo="run without --board")
    from voicelog.cli.demo import run_demo

    def tell(outcome: Outcome) -> None:
        show(outcome, as_json) if as_json else show_briefly(outcome)

    run_demo(folder or Path("voicelog-demo"), board=board, as_json=as_json, show=tell)
