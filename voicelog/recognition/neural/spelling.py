"""How the model may write a word of the grammar: in its own spelling, or as another word that sounds the same.

The model writes sentences as people print them, so a spoken "mil" may come as "mill" or "mm".
"""

from __future__ import annotations

import tomllib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path

from voicelog.recognition.lexicon import Lexicon, read_lexicon

ENDINGS = (("our", "or"), ("ours", "ors"), ("re", "er"), ("res", "ers"), ("ise", "ize"), ("tre", "ter"))
"""British endings and their American ones; a word that exists in neither way does no harm."""
DIGITS = {
    word: str(value)
    for value, words in enumerate(
        ("zero oh nought", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine niner")
    )
    for word in words.split()
}
TEENS = {
    word: str(10 + place)
    for place, word in enumerate(
        "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
    )
}
TYS = {
    word: str(2 + place)
    for place, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split())
}
"""The first digit of each."""


def spellings(words: Iterable[str], lexicon: Path | None = None) -> dict[str, list[str]]:
    """The texts each word may be written as, in lower case, its own first.

    Args:
        words: words of a grammar.
        lexicon: pronunciations that add to those of the English dictionary.
    """
    sounds = _dictionary()
    own = read_lexicon(lexicon) if lexicon else {}
    written = _by_sound()
    table = _table()
    found = {}
    for word in words:
        plain = word.lower()
        ways = [plain, *table.get(plain, ()), *_regional(plain)]
        for phones in (*sounds.get(plain, ()), *own.get(plain, ())):
            ways += written.get(phones, ())
        found[word] = list(dict.fromkeys(form for way in ways for form in _forms(way)))
    return found


def _forms(text: str) -> list[str]:
    """A text and itself without the marks within it: "x-ray", "xray", "x ray"."""
    forms = [text]
    if not text.isalnum():
        forms += ["".join(c for c in text if c.isalnum() or c == " "), text.replace("-", " ")]
    return forms


def _regional(word: str) -> list[str]:
    pairs = [*ENDINGS, *((american, british) for british, american in ENDINGS)]
    return [word[: -len(one)] + other for one, other in pairs if word.endswith(one) and len(word) > len(one) + 2]


@cache
def _table() -> Mapping[str, list[str]]:
    text = files("voicelog.recognition.neural").joinpath("spellings.toml").read_text(encoding="utf-8")
    return {word: list(ways) for word, ways in tomllib.loads(text).items()}


@cache
def _dictionary() -> Lexicon:
    """The English dictionary that comes with PocketSphinx; empty where that is not installed."""
    try:
        import pocketsphinx
    except ImportError:
        return {}
    return read_lexicon(Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict")


@cache
def _by_sound() -> Mapping[tuple[str, ...], list[str]]:
    written: dict[tuple[str, ...], list[str]] = defaultdict(list)
    for word, entries in _dictionary().items():
        if word.replace("'", "").isalpha():
            for phones in entries:
                written[phones].append(word)
    return written
