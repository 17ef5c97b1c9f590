"""The board in a browser, for a tablet beside the car: an optional extra, off unless asked for.

textual-serve starts the given command once for each browser and shows its screen.
Whoever has the address that is printed, with its secret, sees customers and prices.
Pages of other origins are refused, and so is whoever has no secret.  The address is the
machine's own unless the user says otherwise, and then the warning is plain.
"""

from __future__ import annotations

import ipaddress
import secrets
import shlex
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError

LOOPBACK = "127.0.0.1"
PORT = 8000
SECRET = "secret"
"""Name of what lets a browser in, in the address and in the cookie."""
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
        f"WARNING: whoever has the address below or listens in on the network of {host}:{port} can read "
        "customers and prices, and change records where you allowed that; there is no password and no "
        "encryption. Use it only in a network that is yours alone, "
        "and stop it when you are done."
    )


def refusal(host: str, origin: str | None, secret: str, *, expected: str, bound: str) -> str | None:
    """Why a request is refused, in one line; None where it may pass.

    Args:
        host: the request's Host; a name that is not ours means that a page elsewhere points at us.
        origin: the request's Origin; browsers send it with what a page asks for.
        secret: what the request brought, by its address or its cookie.
        expected: what it has to bring.
        bound: the address that is listened on.
    """
    name = host.rpartition(":")[0].strip("[]") if ":" in host else host
    if name not in ("localhost", bound.strip("[]")) and not _is_address(name):
        return "this name is not that of the board"
    if origin is not None and origin != f"http://{host}":
        return "another page may not look at the board"
    if not secrets.compare_digest(secret.encode(), expected.encode()):
        return "open the address that voicelog printed"
    return None


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _guarded(server: Any, secret: str) -> Any:
    """The server's class with a guard before all that it answers."""

    class Guarded(server):  # type: ignore[misc]
        async def _make_app(self) -> Any:
            web: Any = import_module("aiohttp.web")

            @web.middleware  # type: ignore[untyped-decorator]
            async def guard(request: Any, handler: Any) -> Any:
                brought = request.query.get(SECRET) or request.cookies.get(SECRET, "")
                given = (request.host, request.headers.get("Origin"), brought)
                why = refusal(*given, expected=secret, bound=self.host)
                if why is not None:
                    return web.Response(status=403, text=why)
                if SECRET not in request.query:
                    return await handler(request)
                # From here on a cookie holds it: it stands in no address that is kept or sent on.
                response = web.Response(
                    status=303, headers={"Location": "/", "Referrer-Policy": "no-referrer"}
                )
                response.set_cookie(SECRET, secret, httponly=True, samesite="Strict")
                return response

            async def unframed(request: Any, response: Any) -> None:
                response.headers["X-Frame-Options"] = "DENY"  # no page elsewhere lays itself over the board

            app = await super()._make_app()
            app.middlewares.append(guard)
            app.on_response_prepare.append(unframed)
            return app

    return Guarded


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
    secret = secrets.token_urlsafe(16)
    say(f"the board is at http://{host}:{port}/?{SECRET}={secret} (ctrl+c stops it)")
    server = _guarded(module.Server, secret)(
        shlex.join(command), host=host, port=port, title="voicelog", templates_path=PAGE
    )
    try:
        server.serve()
    except OSError as error:
        raise VoicelogError(
            f"cannot listen on {host}:{port} ({error.strerror})", todo="choose another --port"
        ) from error
