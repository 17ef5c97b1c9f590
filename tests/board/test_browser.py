"""The served board in a real browser: the real server, the real program, Chromium without a window."""

from __future__ import annotations

import asyncio
import base64
import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from operator import sub
from pathlib import Path
from typing import Any

import pytest

from voicelog.jobs.logbook import Logbook
from voicelog.journal import events as ev
from voicelog.journal.store import Draft

from .day import held

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytest.importorskip("textual_serve", reason="textual-serve is not installed")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no Chromium")
PATIENCE_S = 60.0


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """The address that `voicelog board --serve` prints, over a journal with one dent."""
    log = tmp_path / "journal.db"
    with Logbook.open(log) as writer:
        writer.commit([Draft(ev.JobOpened(1))])
        slots = {"panel": held("roof"), "length_mm": held(20)}
        job = writer.state.current
        writer.commit([Draft(ev.DentOpened(1), job), Draft(ev.Noted(1, slots), job)])
    command = [
        sys.executable,
        "-m",
        "voicelog",
        "board",
        "--serve",
        "--log",
        str(log),
        "--port",
        str(free_port()),
    ]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    assert process.stdout is not None
    try:
        found = next((match for line in process.stdout if (match := re.search(r"http://\S+", line))), None)
        assert found is not None
        yield found.group()
    finally:
        process.terminate()
        process.wait(20)


async def picture(address: str, folder: Path, size: tuple[int, int]) -> bytes:
    """Open the address in a browser of its own; the screen once it shows more than one colour."""
    from aiohttp import ClientSession

    assert CHROMIUM is not None
    port = free_port()
    folder = folder / "profile"
    flags = [
        *("--headless", "--no-sandbox", "--disable-gpu", f"--remote-debugging-port={port}"),
        *(f"--user-data-dir={folder}", f"--window-size={size[0]},{size[1]}", "about:blank"),
    ]
    browser = subprocess.Popen([CHROMIUM, *flags], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        async with ClientSession() as client:
            page = await page_of(client, port)
            async with client.ws_connect(page) as socket_:
                calls = iter(range(1, 1000))

                async def call(method: str, **given: Any) -> Any:
                    number = next(calls)
                    await socket_.send_json({"id": number, "method": method, "params": given})
                    while True:
                        said = json.loads((await socket_.receive(timeout=PATIENCE_S)).data)
                        if said.get("id") == number:
                            return said.get("result", {"data": "", "why": said.get("error")})

                await call("Page.navigate", url=address)
                ends = time.monotonic() + PATIENCE_S
                while True:
                    # A page that is being loaded gives no picture yet.
                    shot = base64.b64decode((await call("Page.captureScreenshot"))["data"])
                    if (shot and len(every_colour(shot)) > 100) or time.monotonic() > ends:
                        return shot
                    await asyncio.sleep(0.5)
    finally:
        browser.terminate()
        browser.wait(20)


async def page_of(client: Any, port: int) -> str:
    """The address of the first page's debugger, once the browser is up."""
    ends = time.monotonic() + PATIENCE_S
    while time.monotonic() < ends:
        try:
            async with client.get(f"http://127.0.0.1:{port}/json") as answer:
                pages = [page for page in await answer.json() if page["type"] == "page"]
                if pages:
                    return str(pages[0]["webSocketDebuggerUrl"])
        except OSError:
            pass
        await asyncio.sleep(0.2)
    raise AssertionError("the browser did not start")


def every_colour(shot: bytes) -> list[Any]:
    """The colours of a picture (a blank page has one; edges of letters make many)."""
    from PIL import Image

    return [colour for _, colour in Image.open(io.BytesIO(shot)).convert("RGB").getcolors(1 << 24) or ()]


@pytest.mark.parametrize("size", [(1200, 800), (420, 840)], ids=["tablet", "telephone"])
def test_the_real_server_shows_the_board_in_a_real_browser(
    address: str, tmp_path: Path, size: tuple[int, int]
) -> None:
    shot = asyncio.run(asyncio.wait_for(picture(address, tmp_path, size), 4 * PATIENCE_S))
    kept = os.environ.get("VOICELOG_BROWSER_PICTURE")
    if kept:
        Path(f"{kept}-{size[0]}.png").write_bytes(shot)
    # Accent (the size), primary (what to say next) and ground of the dark theme, as the browser blends them.
    for wanted in ((0xFF, 0xD2, 0x3F), (0x8C, 0xC8, 0xFF), (0x0B, 0x0D, 0x10)):
        assert any(max(map(abs, map(sub, wanted, seen))) <= 8 for seen in every_colour(shot)), wanted
