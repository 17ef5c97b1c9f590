"""Folders with Vosk models: where they are looked for, and how one is fetched when asked for.

Nothing here goes to the network except `fetch_small_english`, which only
`voicelog model fetch` calls.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

from voicelog.errors import VoicelogError

VARIABLE = "VOICELOG_MODEL"
SMALL_ENGLISH = "vosk-model-small-en-us-0.15"
ADDRESS = f"https://alphacephei.com/vosk/models/{SMALL_ENGLISH}.zip"
"""Where the makers of Vosk publish their small English model (41,205,931 bytes)."""
SHA256 = "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498"
"""Of that file; several public projects record the same."""
HOW_TO_GET = (
    f"run `voicelog model fetch`, or unpack {SMALL_ENGLISH} in ~/.cache/vosk, "
    f"or name a model folder in the settings or in {VARIABLE}"
)


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
    sha256: str = SHA256,
    progress: Callable[[int, int], None] = lambda done, total: None,
) -> Path:
    """Fetch the small English model, check its hash, and unpack it.

    Args:
        folder: where to unpack; Vosk's cache when None.
        address: where the ZIP file is.
        sha256: what the ZIP file must hash to.
        progress: called with bytes done and bytes in all.

    Returns:
        The model's folder.

    Raises:
        VoicelogError: it cannot be fetched, is not what it should be, or holds no model; nothing is
            left behind.
    """
    import pooch

    target = folder or cache_folder()
    target.mkdir(parents=True, exist_ok=True)
    pooch.get_logger().setLevel("ERROR")
    with tempfile.TemporaryDirectory(prefix="fetching-", dir=target) as scratch:
        unpacked = Path(scratch) / "unpacked"
        try:
            pooch.retrieve(
                address,
                f"sha256:{sha256}",
                "model.zip",
                scratch,
                pooch.Unzip(extract_dir=str(unpacked)),
                pooch.HTTPDownloader(progressbar=_Bar(progress)),
            )
        except OSError as error:
            raise VoicelogError(
                f"the model cannot be fetched ({error})",
                where=address,
                todo="check the network and try again",
            ) from error
        except ValueError as error:
            raise VoicelogError(f"the model is damaged ({error})", where=address, todo="try again") from error
        except zipfile.BadZipFile as error:
            raise VoicelogError(f"the file fetched is no ZIP file ({error})", where=address) from error
        found = next((path for path in [unpacked, *sorted(unpacked.iterdir())] if is_model(path)), None)
        if found is None:
            raise VoicelogError("the file fetched holds no Vosk model", where=address)
        name = SMALL_ENGLISH if found == unpacked else found.name
        if (target / name).exists():
            shutil.rmtree(target / name)
        return Path(shutil.move(found, target / name))


class _Bar:
    """What pooch reports its progress to."""

    def __init__(self, tell: Callable[[int, int], None]) -> None:
        self.total, self._done, self._tell = 0, 0, tell

    def update(self, more: int) -> None:
        self._done += more
        self._tell(self._done, self.total)

    def reset(self) -> None:
        self._done = 0

    def close(self) -> None:
        pass
