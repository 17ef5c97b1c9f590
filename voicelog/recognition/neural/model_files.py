"""Where the recogniser's model lies: inside an installed wheel, which is found but not imported.

The package imports an audio library when it is imported itself; only its data files are wanted here.
"""

from __future__ import annotations

import importlib.metadata
import importlib.util
from dataclasses import dataclass
from pathlib import Path

from voicelog.errors import VoicelogError

PACKAGE = "moonshine_voice"
DISTRIBUTION = "moonshine-voice"
FOLDER = Path("assets", "tiny-en")
NAMES = ("encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin")
LICENCE = "MIT, code and English model"
HOW_TO_GET = f'run `pip install "{DISTRIBUTION}==0.1.0"`, or choose the engine pocketsphinx in the settings'


@dataclass(frozen=True)
class ModelFiles:
    """The files of one model and the version of the wheel they came in."""

    encoder: Path
    decoder: Path
    tokenizer: Path
    version: str = ""


def find_model_files() -> ModelFiles | None:
    """The model in the installed wheel; None where that is not installed (it is not made for every system).

    Raises:
        VoicelogError: the wheel is there, but without its model.
    """
    found = importlib.util.find_spec(PACKAGE)
    if found is None or found.origin is None:
        return None
    return files_in(Path(found.origin).parent / FOLDER, importlib.metadata.version(DISTRIBUTION))


def files_in(folder: Path, version: str = "") -> ModelFiles:
    """The model in a folder.

    Raises:
        VoicelogError: a file is missing.
    """
    missing = [name for name in NAMES if not (folder / name).is_file()]
    if missing:
        raise VoicelogError(
            f"the speech model is incomplete: no {', '.join(missing)}", where=str(folder), todo=HOW_TO_GET
        )
    encoder, decoder, tokenizer = (folder / name for name in NAMES)
    return ModelFiles(encoder, decoder, tokenizer, version)
