"""Typed words and engines' spellings brought to the words of the grammar."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from decimal import Decimal
from functools import cache
from importlib import resources
from itertools import accumulate

from voicelog.meaning.numbers import FIGURES, LARGEST, TEENS, TYS, in_words

_TOKEN = re.compile(r"\d+(?:\.\d+)?|[a-z]+(?:['-][a-z]+)*|[½¼¾%\"]|[^\s\w.,;:!?()&'-]")
"""Words, figures and signs.  Plain punctuation is skipped; any other sign stays, so that a sentence
with a sign of unknown meaning is not understood at all rather than without it."""
_SIGNS = {"½": "and a half", "¼": "and a quarter", "¾": "and three quarters", "%": "percent", '"': "inches"}
_PARTS = {
    "1/2": "half", "1/4": "quarter", "3/4": "three quarters", "1/8": "eighth", "3/8": "three eighths",
    "5/8": "five eighths", "7/8": "seven eighths", "1/3": "third", "2/3": "two thirds", "1/16": "sixteenth",
}  # fmt: skip
_ARTICLES = {
    "half": "a half",
    "quarter": "a quarter",
    "eighth": "an eighth",
    "third": "a third",
    "sixteenth": "a sixteenth",
}
_REWRITES: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile("’"), "'"),
    (re.compile("×"), " x "),
    (re.compile(r"(?<=\d)(\s*(?:mm|cm|in|\"))?\s*[x*]\s*(?=\d)"), r"\1 by "),
    (re.compile(r"(?:(\d+) )?\b(\d+/\d+)"), lambda found: _part(found[1], found[2])),
    (re.compile(r"(?<=\d),(?=\d{3}\b)"), ""),
    (re.compile(r"(?<=\d),(?=\d)"), "."),
    # A range is no number: "3-4 dents" must not become 34.
    (re.compile(r"(?<=\d) ?[-–] ?(?=\d)"), " to "),
)
"""What figures and signs are written as before words are made of them, in this order."""


def _part(whole: str | None, part: str) -> str:
    """A fraction in words; one that the language does not have stays as it is."""
    words = _PARTS.get(part)
    if words is None:
        return f"{whole or ''} / "
    return words if whole is None else f"{whole} and {_ARTICLES.get(words, words)}"


ALPHABET = (
    "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliett", "kilo",
    "lima",
    "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor",
    "whiskey", "x-ray",
    "yankee", "zulu",
)  # fmt: skip
_PLATE = re.compile(r"\b((?:plate|registration|reg|rego|vin|vin number)(?:'s| is)?\s+)([\w\s.,'-]+)$")


_NUMBER_OF = re.compile(
    r"\b((?:(?:claim|policy|order|stock) (?:number|reference)|phone(?: number)?|telephone|mobile)(?: is)?\s+)"
    r"([\w\s.,'/+-]*\d[\w\s.,'/+-]*)$"
)
"""A telephone number or a reference with figures in it."""


def _spelled_out(text: str) -> str:
    """A plate or VIN as typed, "AB12 CDE", in the words that spell it; words that spell stay."""
    others = ["niner", "oh", "double", "triple", "number", "please", "x", "ray"]
    spelling = {*ALPHABET, *FIGURES, *TEENS, *TYS, *_table()[0], *others}
    tokens = text.replace(",", " ").replace(".", " ").split()
    signs = [
        len(token) == 1 or token in (*ALPHABET, *FIGURES, "oh", "alpha") or any(map(str.isdigit, token))
        for token in tokens
    ]
    beside = [any(signs[max(0, at - 1) : at] + signs[at + 1 : at + 2]) for at in range(len(tokens))]
    # Of "plate so that's" nothing is spelled: letters without a figure stand beside signs, and are few.
    return " ".join(
        _by_sign(token)
        if token not in spelling and ((len(token) > 1 and sign) or (len(token) <= _MOST_LETTERS and near))
        else token
        for token, sign, near in zip(tokens, signs, beside, strict=True)
    )


_MOST_LETTERS = 4


def _by_sign(token: str) -> str:
    signs = [sign for sign in token if sign.isascii() and sign.isalnum()]
    return " ".join(
        FIGURES[int(sign)] if sign.isdigit() else ALPHABET[ord(sign) - ord("a")] for sign in signs
    )


@cache
def _table() -> tuple[dict[str, str], re.Pattern[str], dict[str, str], frozenset[str]]:
    source = resources.files("voicelog.meaning") / "spellings.toml"
    data = tomllib.loads(source.read_text(encoding="utf-8"))
    phrases: dict[str, str] = data["phrases"]
    pattern = re.compile(r"\b(" + "|".join(map(re.escape, phrases)) + r")\b")
    return data["words"], pattern, phrases, frozenset(data["verbs"]["stems"].split())


def normalise(text: str) -> str:
    """Lower-case words of the grammar, single spaces: figures, signs and other spellings become words.

    "45mm, x-ray; Forty-Five" becomes "forty five mil x-ray forty five".
    """
    words, pattern, phrases, _ = _table()
    text = _NUMBER_OF.sub(lambda found: found[1] + _spelled_out(found[2]), text.lower())
    for sign, written in _REWRITES:
        text = sign.sub(written, text)
    text = _PLATE.sub(lambda found: found[1] + _spelled_out(found[2]), text)
    tokens = [_word(token, words) for token in _TOKEN.findall(text)]
    return pattern.sub(lambda found: phrases[found[0]], " ".join(token for token in tokens if token))


def breaks(text: str) -> frozenset[int]:
    """The words of normalised text, by their number, before which a comma or the like is written."""
    parts = re.split(r"[,;:.!?](?=\s)", text)
    if len(parts) == 1:
        return frozenset()
    ends = list(accumulate(len(normalise(part).split()) for part in parts))
    return frozenset(ends[:-1] if ends[-1] == len(normalise(text).split()) else ())


def stems(tokens: list[str], known: frozenset[str]) -> list[str]:
    """Words as the grammar writes them, one for one: "pulled" and "pulling" as pull, "bonnet's" as bonnet."""
    return [token if token in known else _stem(token, known) for token in tokens]


def _stem(token: str, known: frozenset[str]) -> str:
    if token.endswith("'s"):
        return token[:-2] if token[:-2] in known else token
    verbs = _table()[3]
    for ending in ("ing", "ed", "d", "es", "s"):
        stem = token.removesuffix(ending)
        for verb in (stem, stem + "e", stem[:-1] if stem[-2:-1] == stem[-1:] else stem):
            if stem != token and verb in verbs and verb in known:
                return verb
    return token


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
