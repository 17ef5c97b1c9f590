"""A page of another origin, in a real browser in which the board is open too: it learns and changes nothing.

A browser sends cookies to a host whatever the port (RFC 6265, 8.5), so the worst page is one of this very
machine: its requests bring the secret, and only their Origin (RFC 6454) tells them from the board's own.
"""

from __future__ import annotations

import json
import os
import queue
import re
import shutil
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tests.journal.making import SetClock, a_day
from voicelog.jobs.logbook import Logbook

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="needs chromium, a real browser")
PLATE = "AB12CDE"
PAGE = """<script>
const board = "127.0.0.1:%d", found = [];
const read = async (what, options) => {
  try {
    const answer = await fetch("http://" + board + "/", {credentials: "include", ...options});
    found.push(what + ": " + (await answer.text()).slice(0, 200));
  } catch (error) { found.push(what + ": refused"); }
};
const socket = () => new Promise(done => {
  const line = new WebSocket("ws://" + board + "/ws?width=80&height=24");
  line.onopen = () => { found.push("socket: open"); line.send(JSON.stringify(["stdin", "u"])); };
  line.onmessage = () => { found.push("socket: data"); };
  line.onerror = () => { found.push("socket: refused"); done(); };
  setTimeout(done, 4000);
});
const frame = () => new Promise(done => {
  const inner = document.createElement("iframe");
  inner.src = "http://" + board + "/";
  inner.onload = () => {
    try { found.push("frame: " + inner.contentDocument.body.innerText); }
    catch (error) { found.push("frame: refused"); }
    done();
  };
  document.body.append(inner);
  setTimeout(done, 4000);
});
const go = async () => {
  await fetch("%s", {credentials: "include", mode: "no-cors"});  // as if the user had opened the board
  await fetch("/cookies");
  await read("plain", {});
  await read("opaque", {mode: "no-cors"});
  await read("post", {method: "POST", mode: "no-cors", body: "x"});
  await socket();
  await frame();
  await fetch("/found", {method: "POST", body: JSON.stringify(found)});
};
addEventListener("load", go);
</script><body>"""


@contextmanager
def hostile(board: int, address: str) -> Iterator[tuple[int, queue.Queue[list[str]], list[str]]]:
    """A server of the hostile page: its port, what the page found, and the cookies that it was sent."""
    answers: queue.Queue[list[str]] = queue.Queue()
    cookies: list[str] = []

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            if self.headers.get("Cookie"):
                cookies.append(self.headers["Cookie"])
            self.answer((PAGE % (board, address)).encode())

        def do_POST(self) -> None:
            answers.put(json.loads(self.rfile.read(int(self.headers["Content-Length"]))))
            self.answer(b"")

        def answer(self, body: bytes) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.server_port, answers, cookies
    finally:
        server.shutdown()
        server.server_close()


@pytest.fixture
def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return int(server.getsockname()[1])


@contextmanager
def running(*command: object, home: Path) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        [str(part) for part in command],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "HOME": str(home), "PYTHONUNBUFFERED": "1"},
    )
    try:
        yield process
    finally:
        process.terminate()
        with suppress(subprocess.TimeoutExpired):
            process.wait(10)
        process.kill()


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost"])
def test_a_page_elsewhere_learns_and_changes_nothing(host: str, tmp_path: Path, free_port: int) -> None:
    pytest.importorskip("textual_serve", reason="needs the extra tablet")
    path = tmp_path / "day.db"
    with Logbook.open(path, clock=SetClock()) as log:
        a_day(log)
        before = log.store.position
    serve = ("board", "--serve", "--write", "--port", free_port, "--log", path)
    with running(sys.executable, "-m", "voicelog", *serve, home=tmp_path) as board:
        assert board.stdout is not None
        address = next(
            found[0] for line in board.stdout if (found := re.search(r"http://\S+secret=\S+", line))
        )
        options = ("--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'browser'}")
        with (
            hostile(free_port, address) as (port, answers, cookies),
            running(BROWSER, *options, "--no-proxy-server", "--remote-debugging-port=0",
                    f"http://{host}:{port}/", home=tmp_path),
        ):  # fmt: skip
            found = answers.get(timeout=60)
    assert found[0] == "plain: refused"
    assert found[1] == "opaque: "
    assert found[2] == "post: "
    assert "socket: refused" in found
    assert not [text for text in found if text in ("socket: open", "socket: data") or PLATE in text]
    assert "frame: refused" in found
    if host == "127.0.0.1":
        assert cookies, "the page had the secret sent along, and yet"
    with Logbook.open(path, writer=False) as log:
        assert log.store.position == before
