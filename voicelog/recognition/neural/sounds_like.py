"""How a text sounds, roughly, from its letters alone: to compare what was written freely with a sentence.

What the model writes of a voice that it understands badly is wrong in its words and near in its sounds
("loophole" for "glue pull"); talk that is not for us is near to no sentence at all.
"""

from __future__ import annotations

import re
from functools import lru_cache

from rapidfuzz.distance import Levenshtein

from voicelog.recognition.neural.spelling import DIGITS, TEENS, TYS

RULES = tuple(
    (re.compile(pattern), sound)
    for pattern, sound in (
        (r"\bm[lm]\b", "mil"), (r"[^a-z ]", " "), (r"\b[kg]n", "n"), (r"\bwr", "r"), ("wh", "w"),
        ("igh", "i"), ("gh", ""), ("ph", "f"), ("tch|ch|sh|[ts]ion|dge", "j"), ("th", "0"),
        ("ck|q", "k"), ("x", "ks"), ("c(?=[eiy])", "s"), ("c", "k"), (r"(?<=[a-z])g(?=e\b)", "j"),
        (r"mb\b", "m"), (r"(?<=[^aeiou\s])e\b", ""), (r"(?<=[^aeiou\s])e(?=[ds]\b)", ""),
        ("z", "s"), ("v", "f"), ("b", "p"), ("d", "t"), ("g", "k"),
        ("[iey]+[aeiouy]*", "i"), ("[aou]+[aeiouy]*", "a"), (" ", ""), (r"(.)\1+", r"\1"),
    )
)  # fmt: skip
"""English spelling to sounds in a few groups: consonants without their voice, two kinds of vowels."""
_WORD = {digits: word for word, digits in (DIGITS | TEENS).items() if word not in ("oh", "nought", "niner")}
_TENS = {digit: word for word, digit in TYS.items()}


@lru_cache(maxsize=2000)
def sounds(text: str) -> str:
    """The sounds of a text, a letter each."""
    found = re.sub(r"\d+", lambda match: f" {_spoken(match[0])} ", text.lower())
    for pattern, sound in RULES:
        found = pattern.sub(sound, found)
    return found


def apart(one: str, other: str) -> int:
    """How many sounds two texts differ in."""
    return Levenshtein.distance(sounds(one), sounds(other))


def longest_apart(text: str, said: str) -> int:
    """The longest stretch of sounds of a text of which the other has none: a word that was left out."""
    longest = run = 0
    for code in Levenshtein.opcodes(sounds(text), sounds(said)):
        missing = max(code.src_end - code.src_start, int(code.tag == "insert"))
        run = 0 if code.tag == "equal" else run + missing
        longest = max(longest, run)
    return longest


def _spoken(digits: str) -> str:
    """A number as people say it most: "45" forty five, "110" one ten."""
    if len(digits) > 3:
        return " ".join(_WORD[digit] for digit in digits)
    if len(digits) == 3:
        return f"{_WORD[digits[0]]} {_spoken(digits[1:])}"
    if len(digits) == 1 or digits in _WORD:
        return _WORD[digits]
    if digits[0] == "0":
        return f"oh {_WORD[digits[1]]}"
    return f"{_TENS[digits[0]]} {_WORD[digits[1]] if digits[1] != '0' else ''}"
