"""The board in a browser, for a tablet beside the car: an optional extra, off unless asked for.

textual-serve starts the given command once for each browser and shows its screen.
Whoever can reach the address sees customers and prices and can change records, and
nothing asks for a password: so the address is the machine's own unless the user says
otherwise, and then the warning is plain.
"""

from __future__ import annotations

import ipaddress
import shlex
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

from voicelog.errors import VoicelogError

LOOPBACK = "127.0.0.1"
PORT = 8000
PAGE = Path(__file__).with_name("page")
"""Our own page: the one of textual-serve asks a host on the internet for its font."""


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach `host`."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def warning(host: str, port: int) -> str | None:
    """What the user must know before serving on `host`; None where only this machine can see it."""
    if is_loopback(host):
        return None
    return (
        f"WARNING: everybody who can reach {host}:{port} can read customers and prices and change records; "
        "there is no password and no encryption. Use it only in a network that is yours alone, "
        "and stop it when you are done."
    )


def serve_board(
    command: Sequence[str], *, host: str = LOOPBACK, port: int = PORT, say: Callable[[str], None] = print
) -> None:
    """Serve the screen of `command` to browsers until interrupted.

    Args:
        command: program and arguments, run once for each browser.
        host: address to listen on.
        port: 1 to 65535.
        say: shows the address and the warning.

    Raises:
        VoicelogError: textual-serve is not installed, or the address cannot be used.
    """
    if not 0 < port < 65536:
        raise VoicelogError(f"there is no port {port}", todo="choose one from 1 to 65535")
    try:
        module = import_module("textual_serve.server")
    except ImportError as error:
        raise VoicelogError(
            "serving to a browser needs textual-serve", todo='pip install "voicelog[tablet]"'
        ) from error
    note = warning(host, port)
    if note:
        say(note)
    say(f"the board is at http://{host}:{port}/ (ctrl+c stops it)")
    server = module.Server(shlex.join(command), host=host, port=port, title="voicelog", templates_path=PAGE)
    try:
        server.serve()
    except OSError as error:
        raise VoicelogError(
            f"cannot listen on {host}:{port} ({error.strerror})", todo="choose another --port"
        ) from error
