"""Serving the board: loopback unless the user says otherwise, and then with a plain warning."""

from __future__ import annotations

import re
import sys
import types
from pathlib import Path
from typing import Any

import pytest

from voicelog.board.serve import PAGE, SECRET, is_loopback, refusal, serve_board, warning
from voicelog.errors import VoicelogError


@pytest.mark.parametrize(
    ("host", "alone"),
    # 127.0.0.0/8 (RFC 1122, 3.2.1.3) and ::1 (RFC 4291, 2.5.3) never leave the machine.
    [("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("[::1]", True), ("localhost", True),
     ("0.0.0.0", False), ("192.168.1.20", False), ("::", False), ("bench.example", False)],
)  # fmt: skip
def test_loopback(host: str, alone: bool) -> None:
    assert is_loopback(host) is alone
    assert (warning(host, 8000) is None) is alone


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """A server that only notes how it was started."""
    calls: list[tuple[Any, ...]] = []

    class Server:
        def __init__(self, command: str, host: str, port: int, title: str, templates_path: Path) -> None:
            calls.append((command, host, port))

        def serve(self) -> None:
            calls.append(("serve",))

    module = types.ModuleType("textual_serve.server")
    module.Server = Server  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "textual_serve", types.ModuleType("textual_serve"))
    monkeypatch.setitem(sys.modules, "textual_serve.server", module)
    return calls


def test_default_is_the_machine_itself(started: list[tuple[Any, ...]]) -> None:
    said: list[str] = []
    serve_board(["voicelog", "board", "--log", "my day.db"], say=said.append)
    assert started == [("voicelog board --log 'my day.db'", "127.0.0.1", 8000), ("serve",)]
    assert not any("WARNING" in line for line in said)


def test_another_address_is_warned_about_before_it_is_served(started: list[tuple[Any, ...]]) -> None:
    said: list[str] = []
    serve_board(["voicelog", "board"], host="0.0.0.0", say=lambda line: said.append(f"{len(started)} {line}"))
    assert said[0].startswith("0 WARNING")
    assert "no password" in said[0]


def test_missing_extra_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "textual_serve.server", None)
    with pytest.raises(VoicelogError, match=r"voicelog\[tablet\]"):
        serve_board(["voicelog", "board"], say=lambda line: None)


def test_wrong_port_is_one_line() -> None:
    with pytest.raises(VoicelogError, match="no port 70000"):
        serve_board(["voicelog", "board"], port=70000)


def test_page_asks_nothing_of_the_internet() -> None:
    page = (PAGE / "app_index.html").read_text(encoding="utf-8")
    assert "://" not in page
    # What textual-serve 1.1 fills in: the address of its own files, of its socket, and the font size.
    assert {"config.static.url", "app_websocket_url", "font_size"} <= set(re.findall(r"{{ (\S+) }}", page))


HERE = "127.0.0.1:8000"
ORIGINS = [
    (HERE, None, "s", None),
    (HERE, f"http://{HERE}", "s", None),
    ("localhost:8000", "http://localhost:8000", "s", None),
    (HERE, None, "", "open the address"),
    (HERE, None, "other", "open the address"),
    (HERE, "http://evil.example", "s", "another page"),
    (HERE, "null", "s", "another page"),
    ("evil.example", None, "s", "not that of the board"),
    ("evil.example:8000", "http://evil.example:8000", "s", "not that of the board"),
]


@pytest.mark.parametrize(("host", "origin", "secret", "why"), ORIGINS)
def test_who_is_let_in(host: str, origin: str | None, secret: str, why: str | None) -> None:
    """Origin and Host as RFC 6454, section 7, and RFC 9110, section 7.2, have them."""
    found = refusal(host, origin, secret, expected="s", bound="127.0.0.1")
    assert found is None if why is None else why in str(found)


def test_the_guard_stands_before_the_page_and_the_socket(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the real server: only who opens the printed address gets in, and no page elsewhere."""
    server = pytest.importorskip("textual_serve.server", reason="textual-serve is not installed")
    import asyncio

    from aiohttp.test_utils import TestClient, TestServer

    made: list[Any] = []
    monkeypatch.setattr(server.Server, "serve", lambda self: made.append(self))
    said: list[str] = []
    serve_board([sys.executable, "-c", "pass"], say=said.append)
    secret = said[-1].partition(f"?{SECRET}=")[2].split()[0]

    async def visit() -> list[int]:
        async with TestClient(TestServer(await made[0]._make_app())) as client:
            evil = {"Origin": "http://evil.example"}
            found = [
                await client.get("/"),
                await client.get("/ws"),
                await client.get("/static/js/textual.js"),
                await client.get(f"/?{SECRET}={secret}", headers=evil),
                await client.get(f"/?{SECRET}={secret}", headers={"Host": "evil.example"}),
                await client.get(f"/?{SECRET}={secret}", allow_redirects=False),
                await client.get("/"),
                await client.get("/ws", headers=evil),
            ]
            return [response.status for response in found]

    assert asyncio.run(visit()) == [403, 403, 403, 403, 403, 303, 200, 403]
