"""Folders with Vosk models: where they are looked for, and how one is fetched when asked for.

Nothing here goes to the network except `fetch_small_english`, which only
`voicelog model fetch` calls.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
import urllib.error
import urllib.request
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

from voicelog.errors import VoicelogError

VARIABLE = "VOICELOG_MODEL"
SMALL_ENGLISH = "vosk-model-small-en-us-0.15"
ADDRESS = f"https://alphacephei.com/vosk/models/{SMALL_ENGLISH}.zip"
"""Where the makers of Vosk publish their small English model (about 40 MB)."""
HOW_TO_GET = (
    f"run `voicelog model fetch`, or unpack {SMALL_ENGLISH} in ~/.cache/vosk, "
    f"or name a model folder in the settings or in {VARIABLE}"
)
MOST_BYTES = 2_000_000_000
"""A model that unpacks to more than this is refused."""
CHUNK = 1 << 16


def cache_folder() -> Path:
    """The folder where Vosk itself keeps its models."""
    return Path.home() / ".cache" / "vosk"


def is_model(folder: Path) -> bool:
    """Whether a folder holds a Vosk model (its acoustic model and its features)."""
    return any((folder / name).is_file() for name in ("am/final.mdl", "final.mdl")) and (
        (folder / "conf").is_dir() or (folder / "mfcc.conf").is_file()
    )


def _candidates(named: Path | str | None) -> Iterator[Path]:
    if named:
        yield Path(named).expanduser()
    if os.environ.get(VARIABLE):
        yield Path(os.environ[VARIABLE]).expanduser()
    if cache_folder().is_dir():
        yield from sorted(cache_folder().glob("vosk-model*en*"))


def find_model(named: Path | str | None = None) -> Path | None:
    """The first model folder among the one named, the one in VOICELOG_MODEL and English ones of Vosk's cache.

    Raises:
        VoicelogError: when the folder named here or in the variable holds no model.
    """
    for folder in _candidates(named):
        if is_model(folder):
            return folder
        if folder.parent != cache_folder():
            raise VoicelogError("this folder holds no Vosk model", where=str(folder), todo=HOW_TO_GET)
    return None


def required_model(named: Path | str | None = None) -> Path:
    """Like `find_model`, but a missing model is an error that says how to get one."""
    folder = find_model(named)
    if folder is None:
        raise VoicelogError("no Vosk model is there", todo=HOW_TO_GET)
    return folder


def fetch_small_english(
    folder: Path | None = None,
    *,
    address: str = ADDRESS,
    sha256: str | None = None,
    progress: Callable[[int, int | None], None] = lambda done, total: None,
) -> Path:
    """Fetch and unpack the small English model.

    Args:
        folder: where to unpack; Vosk's cache when None.
        address: where the ZIP file is.
        sha256: what the ZIP file must hash to, when known.
        progress: called with bytes done and bytes in all (None when not told).

    Returns:
        The model's folder.

    Raises:
        VoicelogError: when it cannot be fetched, is damaged, or holds no model; nothing is left behind.
    """
    target = folder or cache_folder()
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="fetching-", dir=target) as scratch:
        archive = Path(scratch) / "model.zip"
        digest = _download(address, archive, progress)
        if sha256 is not None and digest != sha256:
            raise VoicelogError(
                f"the model fetched is damaged (SHA-256 {digest})", where=address, todo="try again"
            )
        unpacked = Path(scratch) / "unpacked"
        _unpack(archive, unpacked, address)
        found = next((path for path in [unpacked, *sorted(unpacked.iterdir())] if is_model(path)), None)
        if found is None:
            raise VoicelogError("the file fetched holds no Vosk model", where=address)
        name = SMALL_ENGLISH if found == unpacked else found.name
        if (target / name).exists():
            shutil.rmtree(target / name)
        return Path(shutil.move(found, target / name))


def _download(address: str, path: Path, progress: Callable[[int, int | None], None]) -> str:
    digest = hashlib.sha256()
    try:
        with urllib.request.urlopen(address, timeout=30) as answer, path.open("wb") as out:
            told = answer.headers.get("Content-Length")
            total = int(told) if told else None
            done = _copy(answer, out, digest.update, lambda count: progress(count, total))
    except (urllib.error.URLError, OSError, ValueError) as error:
        raise VoicelogError(
            f"the model cannot be fetched ({error})", where=address, todo="check the network and try again"
        ) from error
    if total is not None and done != total:
        raise VoicelogError(f"only {done} of {total} bytes came", where=address, todo="try again")
    return digest.hexdigest()


def _copy(
    source: IO[bytes], out: IO[bytes], seen: Callable[[bytes], None], progress: Callable[[int], None]
) -> int:
    done = 0
    while block := source.read(CHUNK):
        out.write(block)
        seen(block)
        done += len(block)
        progress(done)
    return done


def _unpack(archive: Path, target: Path, address: str) -> None:
    """Unpack a ZIP file whose members all stay inside `target`."""
    try:
        with zipfile.ZipFile(archive) as files:
            members = files.infolist()
            outside = [
                item.filename
                for item in members
                if not (target / item.filename).resolve().is_relative_to(target.resolve())
            ]
            if outside or sum(item.file_size for item in members) > MOST_BYTES:
                raise VoicelogError(
                    "the file fetched is not what it should be; nothing was unpacked", where=address
                )
            target.mkdir()
            files.extractall(target)
    except (zipfile.BadZipFile, EOFError) as error:
        raise VoicelogError(f"the file fetched is no ZIP file ({error})", where=address) from error
