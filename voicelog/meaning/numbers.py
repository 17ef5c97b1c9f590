"""Spoken numbers: from the arithmetic tags of the grammar to a value, and back to words.

The tags are explained in `grammars/numbers.jsgf`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

FIGURES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
)  # fmt: skip
TYS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

LARGEST = 9999


def number_of(tags: Sequence[tuple[str, str]]) -> int | Decimal | None:
    """The number that tags add up to, read from left to right; None without any number tag.

    Args:
        tags: pairs of name and value, as in `("ty", "40"), ("digit", "5")`; other names are skipped.

    Returns:
        An `int` where whole, else a `Decimal`.
    """
    whole = _Written()
    decimals: _Written | None = None
    part = Fraction(0)
    seen = False
    for name, value in tags:
        target = whole if decimals is None else decimals
        if name == "point":
            decimals = _Written()
        elif name == "part":
            part += Fraction(value)
        elif name in ("digit", "teen", "ty", "double", "hundred", "thousand", "dozen"):
            target.add(name, value)
        else:
            continue
        seen = True
    if not seen:
        return None
    total = Fraction(whole.value()) + part
    if decimals is not None:
        total += Fraction(int(decimals.figures()), 10 ** len(decimals.figures()))
    return tidy(Decimal(total.numerator) / Decimal(total.denominator))


class _Written:
    """Figures as they get written down while a number is spoken."""

    def __init__(self) -> None:
        self._thousands = 0
        self._hundreds = 0
        self._text = ""
        self._after_ty = False
        self._double = False

    def add(self, name: str, value: str) -> None:
        if name == "hundred":
            self._hundreds, self._text = int(self._text) * 100, ""
        elif name == "thousand":
            self._thousands, self._hundreds, self._text = (self._hundreds + int(self.figures())) * 1000, 0, ""
        elif name == "dozen":
            self._text = str(12 * int(self._text or "1"))
        elif name == "double":
            self._double = True
        elif name == "digit" and self._after_ty and value != "0":
            self._text = self._text[:-1] + value
        else:
            self._text += value * (2 if self._double else 1)
            self._double = False
        self._after_ty = name == "ty"

    def figures(self) -> str:
        """The figures written since the last multiplier."""
        return self._text or "0"

    def value(self) -> int:
        return self._thousands + self._hundreds + int(self.figures())


def tidy(value: Decimal) -> int | Decimal:
    """The same number as an `int` where whole, else as a `Decimal` without trailing noughts."""
    if value == value.to_integral_value():
        return int(value)
    return value.normalize()


def in_words(number: int | Decimal) -> str:
    """A number as it is said in British English: "one hundred and ten", "four point five".

    Raises:
        ValueError: for a number that is negative or above 9,999.
    """
    if not 0 <= number <= LARGEST:
        raise ValueError(f"no words for {number}: only 0 to {LARGEST} are spoken")
    whole = int(number)
    text = _whole_in_words(whole)
    if number == whole:
        return text
    decimals = f"{Decimal(number):f}".partition(".")[2]
    return f"{text} point {' '.join(FIGURES[int(figure)] for figure in decimals)}"


def _whole_in_words(number: int) -> str:
    if number < 10:
        return FIGURES[number]
    if number < 20:
        return TEENS[number - 10]
    if number < 100:
        ty = TYS[number // 10 - 2]
        return ty if number % 10 == 0 else f"{ty} {FIGURES[number % 10]}"
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    text = f"{_whole_in_words(number // size)} {name}"
    rest = number % size
    if not rest:
        return text
    return f"{text} and {_whole_in_words(rest)}" if rest < 100 else f"{text} {_whole_in_words(rest)}"


def in_figures(number: int | Decimal) -> str:
    """A number figure by figure, as radio practice does: "four five", "four point five"."""
    return " ".join(
        "point" if sign == "." else FIGURES[int(sign)]
        for sign in f"{Decimal(number):f}"
        if sign in "0123456789."
    )


def both_ways(number: int | Decimal) -> str:
    """A number in words and figure by figure: "fifteen, one five"; below ten only once."""
    words, figures = in_words(number), in_figures(number)
    return words if words == figures else f"{words}, {figures}"
