"""An outcome's slots and kept words against one fair reading."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from .play import Played
from .sessions import Saying, Slots
from .words import same_words, tokens

IMPLIED_END = {"wing": "front", "bonnet": "front", "quarter": "rear", "boot-lid": "rear", "tailgate": "rear"}
SAME_VALUE = {"stop-listening": "sleep", "start-listening": "wake"}
NEVER_FALSE = {"next_dent", "same_again"}
OWN_WORDS = {"place", "tool", "memo", "note"}
OPEN = OWN_WORDS | {
    "glue", "minutes", "before", "declined", "oversize", "density", "risk", "customer", "phone", "email",
    "make", "model", "colour", "year", "mileage", "insurer", "claim", "policy", "excess", "order", "stock",
    "technician", "deposit", "agreed_price", "paid", "by",
}  # fmt: skip
"""Slots that may hold what an expectation only asks to keep; so may numbers."""
NUMBERS = {"count", "pulls", "length_mm", "width_mm", "tab_mm"}
NEGATION = re.compile(r"\b(no|not|none|nothing|never|neither|nor|without|forget|wrong)\b|n't\b|clear of")


@dataclass(frozen=True)
class Finding:
    """What an outcome holds falsely, and what it lacks."""

    false: list[str]
    lacking: list[str]
    says_more: bool = False
    """Whether the reading is one under `also` with slots for what else were kept as words."""


def compare(played: Played, expected: Slots) -> Finding:
    """What the outcome's slots hold falsely and what they lack, against one reading."""
    kind, said = played.outcome["kind"], played.saying.say
    wanted, got = _plain(kind, expected), _plain(kind, played.outcome["slots"])
    if not wanted.keys() <= got.keys() and got.get("same_again"):
        wanted = {name: value for name, value in wanted.items() if name in got}
    false: list[str] = []
    lacking: list[str] = []
    for name, value in wanted.items():
        if name == "clear" and not played.after.get(value):
            continue
        if name not in got:
            if not equal(name, value, played.after.get(name), said):
                lacking.append(f"no {name} {value}")
        elif not equal(name, value, got[name], said):
            (lacking if _part_of(name, got[name], value, said) else false).append(
                f"{name} {got[name]}, not {value}"
            )
    for name in got.keys() - wanted.keys():
        if not _harmless(name, got[name], wanted, played):
            false.append(f"{name} {got[name]}, which nobody said")
    return Finding(false, lacking, bool(expected.keys() - played.saying.slots.keys()))


def _plain(kind: str, slots: Slots) -> Slots:
    """Slots without what is not looked at."""
    plain = dict(slots)
    if kind == "step" and "count" in plain:
        plain.setdefault("pulls", plain.pop("count"))
    if plain.get("count") == 1:
        del plain["count"]
    if plain.get("end") == IMPLIED_END.get(plain.get("panel", ""), "?"):
        del plain["end"]
    if plain.get("access") == "trim-off" and plain.get("take_off"):
        del plain["access"]
    return plain


def equal(name: str, expected: Any, got: Any, said: str) -> bool:
    """Whether a slot's value is as good as the expected one."""
    if got is None or expected is None:
        return False
    if expected is True:
        return bool(got)
    if isinstance(expected, list):
        return isinstance(got, list) and set(expected) == set(got)
    if isinstance(expected, str):
        return _same_text(expected, got, said)
    if isinstance(got, str) and name in {"dent", "go_to", "remove", "restore"}:
        return bool(got in said.lower().split())
    try:
        off = abs(float(expected) - float(got))
    except (TypeError, ValueError):
        return False
    return off <= (1.0 if name.endswith(("_mm", "_um")) else 1e-9)


def _same_text(expected: str, got: Any, said: str) -> bool:
    if not isinstance(got, str):
        return False
    return SAME_VALUE.get(expected, expected) == SAME_VALUE.get(got, got) or same_words(expected, got, said)


def _part_of(name: str, got: Any, expected: Any, said: str) -> bool:
    """Whether a value is not false but only lacks something of the expected one."""
    if isinstance(expected, list) and isinstance(got, list):
        return set(got) < set(expected)
    return name in OPEN and isinstance(got, str) and set(tokens(got)) <= set(tokens(said))


def _harmless(name: str, value: Any, wanted: Slots, played: Played) -> bool:
    saying, held = played.saying, tokens(value)
    if name in NEVER_FALSE or played.before.get(name) == value:
        return True
    if name == "clear":
        return NEGATION.search(saying.say) is not None
    if name == "dent":
        return bool(set(held) & set(tokens(saying.say)))
    if name == "end" and value == "front" and wanted.get("panel") == "door":
        return re.search(r"\b(driver|passenger)('?s)? door", saying.say) is not None
    if name == "time" and "minutes" in wanted:
        return bool(value == "stop")
    if name in OWN_WORDS and set(held) <= set(tokens(saying.say)):
        return True
    kept = {token for part in saying.keep for token in tokens(part)}
    if name in OPEN | NUMBERS and held and set(held) <= kept:
        return True
    named = set(tokens(name)) & kept or any(_is_label(part, saying) for part in saying.keep)
    return name in OPEN and bool(named)


def kept_words(outcome: dict[str, Any]) -> list[str]:
    """Tokens of the words that were kept as words."""
    slots = outcome["slots"]
    texts = [outcome.get(name) for name in ("kept", "memo", "note")]
    return tokens([*texts, *(slots.get(name) for name in sorted(OWN_WORDS))])


def holds(part: str, played: Played) -> bool:
    """Whether a part that must not be lost is held somewhere."""
    outcome, saying = played.outcome, played.saying
    slots, kept = outcome["slots"], set(kept_words(outcome))
    beyond = {name for name in slots if name in OPEN and name not in saying.slots}
    if _is_label(part, saying) and (kept or beyond):
        return True
    if re.search(r"\b(ball|puck)", part) and "length_mm" in saying.slots:
        return equal("length_mm", saying.slots["length_mm"], slots.get("length_mm"), saying.say)
    values = set(tokens([list(slots.values()), outcome.get("doubts", {})]))
    names = set(tokens(sorted(OPEN & slots.keys())))
    return set(tokens(part)) <= kept | values | names


def _is_label(part: str, saying: Saying) -> bool:
    return not set(tokens(part)) & set(tokens(saying.say))
