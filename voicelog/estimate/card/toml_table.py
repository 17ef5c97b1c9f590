"""One TOML table while it is read: typed values out, and a problem for everything else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from voicelog.estimate.card.model import Problem

_MOST = Decimal(10) ** 9
_MOST_DECIMALS = 6


@dataclass
class Table:
    """One table of the card while it is read: what is asked for is known, the rest is a problem."""

    name: str
    data: Mapping[str, Any]
    problems: list[Problem]
    known: list[str] = field(default_factory=list)

    def child(self, key: str) -> Table:
        """The table under `key`, empty where there is none."""
        self.known.append(key)
        data = self.data.get(key, {})
        name = f"{self.name}.{key}" if self.name else key
        if not isinstance(data, Mapping):
            self.wrong(key, "a table")
            data = {}
        return Table(name, data, self.problems)

    def wrong(self, key: str, allowed: str, nearest: str = "") -> None:
        value = shown(self.data[key]) if key in self.data else ""
        self.problems.append(Problem(self.name, key, value, allowed, nearest))

    def number(
        self, key: str, default: Decimal | None = None, *,
        least: Decimal = Decimal(0), most: Decimal = _MOST, above: bool = False, what: str = "a number",
    ) -> Decimal | None:  # fmt: skip
        """A number between `least` and `most` (above `least` where `above`)."""
        self.known.append(key)
        if key not in self.data:
            return default
        value = finite_number(self.data[key])
        if value is None or not least <= value <= most or (above and value == least):
            end = f" to {most:f}" if most < _MOST else ""
            self.wrong(key, f"{what} {'above' if above else 'from'} {least:f}{end}")
            return default
        return value

    def money(self, key: str, digits: int) -> Decimal:
        """An amount of money, with no more decimals than the currency has."""
        value = self.number(key, Decimal(0), what="an amount") or Decimal(0)
        if value != round(value, digits):
            self.wrong(key, f"an amount with at most {digits} decimals")
        return round(value, digits)

    def choice(self, key: str, allowed: Iterable[str], default: str) -> str:
        """One of `allowed`."""
        self.known.append(key)
        value = self.data.get(key, default)
        names = list(allowed)
        if value not in names:
            self.wrong(key, f"one of {listed(names)}", nearest_to(str(value), names))
            return default
        return str(value)

    def text(self, key: str, default: str = "") -> str:
        """A text in one line."""
        self.known.append(key)
        value = self.data.get(key, default)
        if not isinstance(value, str) or not value.strip() or "\n" in value:
            if key in self.data:
                self.wrong(key, "a text in one line")
            return default
        return value.strip()

    def flag(self, key: str) -> bool:
        """True or false; false where it is absent."""
        self.known.append(key)
        value = self.data.get(key, False)
        if not isinstance(value, bool):
            self.wrong(key, "true or false")
        return value is True

    def keys(self, allowed: Iterable[str]) -> list[str]:
        """The keys present that are allowed."""
        self.known.extend(allowed)
        return [key for key in self.data if key in self.known]

    def close(self) -> None:
        """Every key that nobody asked for is a problem."""
        for key in self.data:
            if key not in self.known:
                self.wrong(
                    key, f"one of the keys {listed(dict.fromkeys(self.known))}", nearest_to(key, self.known)
                )


def shown(value: Any) -> str:
    if isinstance(value, Decimal):
        return f"{value}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, Mapping):
        text = "{" + ", ".join(f"{key} = {shown(item)}" for key, item in value.items()) + "}"
    elif isinstance(value, list):
        text = "[" + ", ".join(map(shown, value)) + "]"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def finite_number(value: Any) -> Decimal | None:
    """A TOML number as Decimal; None for what is none or has needlessly many decimals."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    number = Decimal(value)
    if not number.is_finite() or abs(number) > _MOST or number != round(number, _MOST_DECIMALS):
        return None
    return number


def nearest_to(word: str, known: Iterable[str]) -> str:
    """The known name with the fewest letters wrong, missing, added or swapped; empty where none is near."""
    names = {name.lower().replace("_", "-"): name for name in known}
    similarity = DamerauLevenshtein.normalized_similarity
    found = process.extractOne(
        word.lower().replace("_", "-"), list(names), scorer=similarity, score_cutoff=0.6
    )
    return names[found[0]] if found else ""


def listed(names: Iterable[str]) -> str:
    names = list(names)
    return ", ".join(names) if len(names) <= 30 else f"{', '.join(names[:8])} … ({len(names)} in all)"
