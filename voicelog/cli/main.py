"""The command line: all commands together, and the one place where errors become one line."""

from __future__ import annotations

import ast
import io
import os
import sys
import traceback
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any, Final, NoReturn

import typer
from typer.core import TyperGroup

from voicelog.cli.ending import EndedError, unwind_on_signals
from voicelog.errors import VoicelogError
from voicelog.version import VERSION
from voicelog.visible import visible

CRASHED = 1
"""Exit status for a mistake of ours."""
BAD_INPUT = 2
"""Exit status for what the user can mend."""
INTERRUPTED = 130

COMMANDS: Final = {
    **dict.fromkeys(("listen", "hear", "say", "demo"), "take_down"),
    **dict.fromkeys(("board", "review", "sheet", "price"), "show"),
    **dict.fromkeys(("papers", "photos", "schema"), "papers"),
    **dict.fromkeys(("jobs", "invoice", "paid", "statement", "ledger"), "money"),
    **dict.fromkeys(("check", "teach", "model"), "setup"),
    "first-start": "first",
    **dict.fromkeys(("card", "learn"), "card"),
    **dict.fromkeys(
        (
            "verify",
            "seal",
            "salvage",
            "backup",
            "restore",
            "export-journal",
            "import-journal",
            "merge",
            "forget",
        ),
        "journal",
    ),
}
"""The module beside this one that holds a command."""

EXAMPLES: Final = {
    "listen": ["listen", "listen --no-board --mute"],
    "hear": ["hear morning.wav afternoon.wav", "hear memo.flac --start 2026-03-02T09:00"],
    "say": ['say "new job" "front left door, steel, thirty mil, shallow"', "say < notes.txt"],
    "demo": ["demo", "demo --board"],
    "board": ["board", "board --serve"],
    "review": ["review"],
    "sheet": ["sheet", "sheet --out card.html"],
    "price": ["price --job 2 --explain", "price --json"],
    "papers": ["papers", "papers --job 2 --out papers"],
    "schema": ["schema > day-log-schema.json"],
    "photos": ["photos ~/Pictures/today"],
    "jobs": ["jobs", "jobs --all --json"],
    "invoice": ["invoice 2", "invoice 2 --yes", "invoice 2 --credit INV-2026-K7QD-0001"],
    "paid": ["paid 2 --by transfer", "paid 2 50 --by cash"],
    "statement": ['statement "Mr Example" --from 2026-03-01'],
    "ledger": ["ledger > ledger.csv", "ledger --overdue"],
    "check": ["check", "check --rehearse"],
    "teach": ["teach swage"],
    "model": ["model", "model fetch"],
    "first-start": ["first-start"],
    "card": ["card new rate-card.toml", "card check rate-card.toml"],
    "learn": ["learn"],
    "verify": ["verify", "verify --rebuild"],
    "seal": ["seal"],
    "salvage": ["salvage --log damaged.db --out whole.db"],
    "backup": ["backup /media/stick/voicelog"],
    "restore": ["restore /media/stick/voicelog"],
    "export-journal": ["export-journal > journal.jsonl"],
    "import-journal": ["import-journal journal.jsonl"],
    "merge": ["merge other-device.db"],
    "forget": ['forget "Mr Example"'],
}
"""What stands below the help of a command; each is run by a test as far as its words go."""


class _OnDemand(TyperGroup):
    """Imports a command when it runs: no command waits for the rooms of another."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.commands = dict.fromkeys(COMMANDS)  # type: ignore[assignment]  # names, for "did you mean"

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in COMMANDS:
            return None
        part = typer.Typer(rich_markup_mode=None)
        import_module(f"voicelog.cli.{COMMANDS[cmd_name]}").register(part)
        command = typer.main.get_group(part).commands[cmd_name]
        if cmd_name in EXAMPLES:
            command.epilog = "\b\nExamples:\n" + "\n".join(
                f"  voicelog {line}" for line in EXAMPLES[cmd_name]
            )
        return command

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, _summary(name)) for name in COMMANDS])


def _summary(command: str) -> str:
    """The first line of a command's docstring, read without importing it."""
    source = Path(__file__).with_name(f"{COMMANDS[command]}.py").read_text(encoding="utf-8")
    name = command.replace("-", "_")
    found = (n for n in ast.parse(source).body if isinstance(n, ast.FunctionDef) and n.name == name)
    return (ast.get_docstring(next(found)) or "").partition("\n")[0]


app = typer.Typer(
    cls=_OnDemand,
    name="voicelog",
    help="Say what you see and do at the car; get the records, the price and the day's papers.",
    context_settings={"help_option_names": ["-h", "--help"]},
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback(invoke_without_command=True)
def _top(version: bool = typer.Option(False, "--version", help="Print the version.")) -> None:
    if version:
        typer.echo(f"voicelog {VERSION}")
        raise typer.Exit


def main() -> NoReturn:
    """Run a command.  Bad input ends as one line on standard error and exit status 2.

    A mistake of ours ends with status 1, one line, and a file with what is needed to mend it.
    """
    unwind_on_signals()
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):  # a terminal of another encoding must not end a session
            stream.reconfigure(errors="replace")
        if not isinstance(stream, Shown):
            setattr(sys, name, Shown(stream))
    try:
        status = app(standalone_mode=False)
    except VoicelogError as error:
        _end(error.line())
    except EndedError as error:
        sys.exit(error.status)
    except (KeyboardInterrupt, typer.Abort):
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output has gone: nothing more to say, and nothing to say it to.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except OSError as error:
        _end(f"{error.filename or ''}: {error.strerror or error}".lstrip(": "))
    except Exception as error:
        # Typer brings a click of its own, so its errors are known by what they can do.
        shown = getattr(error, "format_message", None)
        if shown is None:
            _end(_crash_line(error), CRASHED)
        if "\n" in shown():  # no command was given: the message is the help, which is what was wanted
            print(shown())
            sys.exit(0)
        _end(f"{shown().removesuffix('.')}; see: voicelog --help")
    # A command that was interrupted returns its status.
    sys.exit(status if isinstance(status, int) else 0)


class Shown:
    """A stream to a terminal or a file that gets marks for control characters."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def write(self, text: str) -> Any:
        """Write the text with marks."""
        return self._stream.write(visible(text))

    def __getattr__(self, name: str) -> Any:
        if name == "buffer":  # nothing goes past the marks
            raise AttributeError(name)
        return getattr(self._stream, name)


def _crash_line(error: Exception) -> str:
    """Puts the traceback into a file beside the settings; what to tell the user."""
    from platformdirs import user_config_path

    what = f"a mistake of voicelog's own ({type(error).__name__}); what was logged is kept"
    file = user_config_path("voicelog") / f"crash-{datetime.now():%Y-%m-%d-%H%M%S}.txt"
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        text = "".join(traceback.format_exception(error))
        file.write_text(f"voicelog {VERSION}, Python {sys.version}\n{text}", encoding="utf-8")
    except OSError:
        return f"{what}; {error}"
    return f"{what}; please report it with {file}"


def _end(line: str, status: int = BAD_INPUT) -> NoReturn:
    print(f"voicelog: {' '.join(line.split())}", file=sys.stderr)
    sys.exit(status)
