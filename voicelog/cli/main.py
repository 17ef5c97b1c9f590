"""The command line: all commands together, and the one place where errors become one line."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

import typer

from voicelog import __version__
from voicelog.cli import card as tuning
from voicelog.cli import first
from voicelog.cli import journal as keeping
from voicelog.cli import setup as fitting
from voicelog.cli import show as looking
from voicelog.cli import take_down as speaking
from voicelog.errors import VoicelogError

BAD_INPUT = 2
"""Exit status for what the user can mend."""
INTERRUPTED = 130

app = typer.Typer(
    name="voicelog",
    help="Say what you see and do at the car; get the records, the price and the day's papers.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.callback(invoke_without_command=True)
def _top(version: bool = typer.Option(False, "--version", help="Print the version.")) -> None:
    if version:
        typer.echo(f"voicelog {__version__}")
        raise typer.Exit


for part in (speaking, looking, keeping, tuning, fitting, first):
    part.register(app)


def main() -> NoReturn:
    """Run a command.  Bad input ends as one line on standard error and exit status 2."""
    try:
        app(standalone_mode=False)
    except VoicelogError as error:
        _end(error.line())
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        # The reader of our output has gone: nothing more to say, and nothing to say it to.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        shown = getattr(error, "format_message", None)
        if shown is not None:
            _end(f"{shown()}; see: voicelog --help")
        if type(error).__name__ == "Abort":
            sys.exit(INTERRUPTED)
        if isinstance(error, OSError):
            _end(f"{error.filename or ''}: {error.strerror or error}".lstrip(": "))
        if os.environ.get("VOICELOG_DEBUG"):
            raise
        _end(f"something unexpected went wrong ({type(error).__name__}: {error}); what was logged is kept")
    sys.exit(0)


def _end(line: str) -> NoReturn:
    print(f"voicelog: {' '.join(line.split())}", file=sys.stderr)
    sys.exit(BAD_INPUT)
