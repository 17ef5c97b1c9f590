"""Rate cards, settings and recordings with changed bytes: each is read, or refused in one line.

python -m tests.journal.bench_fuzz [--files 20000] [--seed 1]
"""

from __future__ import annotations

import argparse
import io
import itertools
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from voicelog.errors import VoicelogError
from voicelog.estimate.card import load_card
from voicelog.listening import Recording
from voicelog.settings import load_settings

DEMO = Path(__file__).parents[2] / "demo"
SLOW_S = 10.0
PIECES = [b"\x00", b"\xff", b"=", b"[", b"]", b'"', b"-1", b"1e999", b"nan", b"inf", b"0x", b"\n", b"[[a]]\n",
          b"9" * 400, b"[" * 300,
          b"true", b"{}", b"\xe2\x80\xae", b"\x1b]52;c;eA==\x07", b"2026-13-45"]  # fmt: skip


def mutated(data: bytes, chance: random.Random) -> bytes:
    """The bytes with one to four changes: bits, pieces put in, stretches left out, cut or doubled."""
    out = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        at, length = chance.randrange(len(out) + 1), chance.randint(1, 40)
        match chance.randrange(5):
            case 0 if at < len(out):
                out[at] ^= 1 << chance.randrange(8)
            case 1:
                out[at:at] = chance.choice(PIECES)
            case 2:
                del out[at : at + length]
            case 3 if chance.random() < 0.2:
                del out[at:]
            case _:
                out[at:at] = out[at : at + length]
    return bytes(out)


def sound(form: str) -> bytes:
    """A tenth of a second of a tone."""
    file = io.BytesIO()
    tone = (8000 * np.sin(np.arange(1600) / 7)).astype("<i2")
    soundfile.write(file, tone, 16_000, format=form)
    return file.getvalue()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--files", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    chance, outcomes, broke = random.Random(given.seed), Counter[str](), list[str]()
    kinds: list[tuple[str, bytes, Callable[[Path], object]]] = [
        ("card.toml", (DEMO / "rate-card.toml").read_bytes(), load_card),
        ("settings.toml", (DEMO / "settings.toml").read_bytes(), load_settings),
        ("a.wav", sound("WAV"), lambda path: list(Recording(path))),
        ("a.flac", sound("FLAC"), lambda path: list(Recording(path))),
    ]
    with tempfile.TemporaryDirectory(prefix="voicelog-fuzz-") as folder:
        for (name, data, read), _ in zip(itertools.cycle(kinds), range(given.files), strict=False):
            path = Path(folder) / name
            path.write_bytes(mutated(data, chance))
            begin = time.monotonic()
            try:
                read(path)
                outcomes[f"{name} read"] += 1
            except VoicelogError as error:
                outcomes[f"{name} refused"] += 1
                if "\n" in error.line():
                    broke.append(f"{name}: more than a line: {error.line()!r}")
            except Exception as error:
                broke.append(f"{name}: {type(error).__name__}: {error}; {path.read_bytes()[:2000]!r}")
            if time.monotonic() - begin > SLOW_S:
                broke.append(f"{name}: took {time.monotonic() - begin:.0f} s")
    print(", ".join(f"{what} {count}" for what, count in sorted(outcomes.items())), f"; broke {len(broke)}")
    for text in broke[:10]:
        print(f"  {text[:600]}")
    return 1 if broke else 0


if __name__ == "__main__":
    sys.exit(main())
