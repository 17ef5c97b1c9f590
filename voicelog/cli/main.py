"""The command line: all commands together, and the one place where errors become one line."""

from __future__ import annotations

import ast
import os
import sys
from importlib import import_module
from pathlib import Path
from typing import Any, Final, NoReturn

import typer
from typer.core import TyperGroup

from voicelog import __version__
from voicelog.errors import VoicelogError

BAD_INPUT = 2
"""Exit status for what the user can mend."""
INTERRUPTED = 130

COMMANDS: Final = {
    **dict.fromkeys(("listen", "hear", "say", "demo"), "take_down"),
    **dict.fromkeys(("board", "review", "sheet", "price"), "show"),
    **dict.fromkeys(("papers", "photos"), "papers"),
    **dict.fromkeys(("check", "teach", "model"), "setup"),
    "first-start": "first",
    **dict.fromkeys(("card", "learn"), "card"),
    **dict.fromkeys(
        ("verify", "backup", "restore", "export-journal", "import-journal", "merge", "forget"), "journal"
    ),
}
"""The module beside this one that holds a command."""


class _OnDemand(TyperGroup):
    """Imports a command when it runs: no command waits for the rooms of another."""

    def list_commands(self, ctx: Any) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        if cmd_name not in COMMANDS:
            return None
        part = typer.Typer(rich_markup_mode=None)
        import_module(f"voicelog.cli.{COMMANDS[cmd_name]}").register(part)
        return typer.main.get_group(part).commands[cmd_name]

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
