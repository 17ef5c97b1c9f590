"""Typed words and engines' spellings brought to the words of the grammar."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal
from functools import cache
from importlib import resources

from voicelog.meaning.numbers import LARGEST, in_words

_TOKEN = re.compile(r"\d+(?:\.\d+)?|[a-z]+(?:['-][a-z]+)*|[½¼¾%\"]")
_SIGNS = {"½": "and a half", "¼": "and a quarter", "¾": "and three quarters", "%": "percent", '"': "inches"}


@cache
def _table() -> tuple[dict[str, str], re.Pattern[str], dict[str, str]]:
    source = resources.files("voicelog.meaning") / "spellings.toml"
    data = tomllib.loads(source.read_text(encoding="utf-8"))
    phrases: dict[str, str] = data["phrases"]
    pattern = re.compile(r"\b(" + "|".join(map(re.escape, phrases)) + r")\b")
    return data["words"], pattern, phrases


def normalise(text: str) -> str:
    """Lower-case words of the grammar, single spaces: figures, signs and other spellings become words.

    "45mm, x-ray; Forty-Five" becomes "forty five mil x-ray forty five".
    """
    words, pattern, phrases = _table()
    text = text.lower().replace("’", "'").replace("×", " by ")
    text = re.sub(r"(?<=\d)( ?(?:mm|cm|in|\"))? ?[x*] ?(?=\d)", r"\1 by ", text)
    tokens = [_word(token, words) for token in _TOKEN.findall(text)]
    return pattern.sub(lambda found: phrases[found[0]], " ".join(token for token in tokens if token))


def _word(token: str, words: dict[str, str]) -> str:
    if token in words:
        return words[token]
    if token in _SIGNS:
        return _SIGNS[token]
    if token[0].isdigit():
        number = Decimal(token)
        return (
            in_words(number)
            if number <= LARGEST
            else " ".join(in_words(int(sign)) for sign in token if sign != ".")
        )
    if "-" in token and token != "x-ray":
        return " ".join(_word(piece, words) for piece in token.split("-"))
    return token
