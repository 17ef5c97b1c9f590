"""How the model may write a word of the grammar: as it stands there, or as a word that sounds the same.

The model writes sentences as people print them, so a spoken "mil" may come as "mill" or "mm".
"""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Collection
from importlib.resources import files
from pathlib import Path

from voicelog.recognition.lexicon import Lexicon, read_lexicon

ENDINGS = (("our", "or"), ("ours", "ors"), ("re", "er"), ("res", "ers"), ("ise", "ize"), ("ium", "um"))
"""British endings and their American ones; a spelling that does not exist does no harm."""
DIGITS = {
    "zero": "0", "oh": "0", "nought": "0", "one": "1", "two": "2", "three": "3", "four": "4",
    "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9", "niner": "9",
}  # fmt: skip
TEENS = {
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14",
    "fifteen": "15", "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19",
}  # fmt: skip
TYS = {
    "twenty": "2", "thirty": "3", "forty": "4", "fifty": "5", "sixty": "6", "seventy": "7", "eighty": "8",
    "ninety": "9",
}  # fmt: skip
"""The first digit of each."""


def spellings(words: Collection[str], lexicon: Path | None = None) -> dict[str, list[str]]:
    """The texts each word may be written as, in lower case, its own first.

    Args:
        words: words of a grammar.
        lexicon: pronunciations that add to those of the English dictionary.
    """
    sounds = _dictionary()
    own = read_lexicon(lexicon) if lexicon else {}
    written: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for other, entries in sounds.items():
        if other.replace("'", "").isalpha():
            for phones in entries:
                written[phones].append(other)
    table = tomllib.loads(files(__package__).joinpath("spellings.toml").read_text(encoding="utf-8"))
    known = {word.lower() for word in words}
    found = {}
    for word in words:
        plain = word.lower()
        # Where a grammar has both spellings, each stands for itself.
        ways = [plain, *table.get(plain, ()), *(way for way in _regional(plain) if way not in known)]
        for phones in (*sounds.get(plain, ()), *own.get(plain, ())):
            ways += written.get(phones, ())
        found[word] = list(dict.fromkeys(form for way in ways for form in _forms(way)))
    return found


def _forms(text: str) -> list[str]:
    """A text, and the same without the marks within it: "x-ray", "xray", "x ray"."""
    if text.isalnum():
        return [text]
    return [text, "".join(c for c in text if c.isalnum() or c == " "), text.replace("-", " ")]


def _regional(word: str) -> list[str]:
    pairs = [*ENDINGS, *((american, british) for british, american in ENDINGS)]
    fitting = [(one, other) for one, other in pairs if word.endswith(one) and len(word) > len(one) + 2]
    return [word[: -len(one)] + other for one, other in fitting]


def _dictionary() -> Lexicon:
    """The English dictionary that comes with PocketSphinx; empty where that is not installed."""
    try:
        import pocketsphinx
    except ImportError:
        return {}
    return read_lexicon(Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict")
