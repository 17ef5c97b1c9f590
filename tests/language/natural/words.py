"""Words as the scorer compares them."""

from __future__ import annotations

import re
from typing import Any

_SMALL = """zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen
sixteen seventeen eighteen nineteen"""
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_NUMBERS = {word: str(value) for value, word in enumerate(_SMALL.split())}
_NUMBERS |= {word: str(20 + 10 * value) for value, word in enumerate(_TENS.split())}
_NUMBERS |= {"first": "1", "second": "2", "third": "3", "dozen": "12"}
_LITTLE = "a an the of it its it's is was been be in on to that this there and my me her him"
_IDLE = frozenset(_LITTLE.split())


def tokens(value: Any) -> list[str]:
    """The telling words of a value: small letters, number words as digits, hyphens as spaces."""
    if isinstance(value, dict):
        return tokens(list(value.values()))
    if isinstance(value, list):
        return [token for item in value for token in tokens(item)]
    if value is None or isinstance(value, bool):
        return []
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    words = re.findall(r"[a-z0-9.]+(?:'[a-z]+)?", str(value).lower().replace("_", " "))
    trimmed = (word.strip(".").removesuffix("'s") for word in words)
    return [_NUMBERS.get(word, word) for word in trimmed if word and word not in _IDLE]


def same_words(expected: str, got: str, said: str) -> bool:
    """Whether a value says the same as expected; it may hold more words of what was said."""
    wanted, held = tokens(expected), tokens(got)
    if "".join(wanted) == "".join(held):
        return True
    return " " in got + expected and set(wanted) <= set(held) and set(held) - set(wanted) <= set(tokens(said))
