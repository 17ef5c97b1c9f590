"""What every body of an event has in common: its type, its schema and its JSON form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any, ClassVar

from voicelog.meaning.note import SlotValue, plain, stored

BODIES: dict[str, type[Body]] = {}
"""Every body class by its `TYPE`, filled as the classes are defined."""


@dataclass(frozen=True)
class Body:
    """What happened.  Subclasses hold only JSON-ready values, slot values and tuples."""

    TYPE: ClassVar[str] = ""
    SCHEMA: ClassVar[int] = 1

    def __init_subclass__(cls) -> None:
        if cls.TYPE:
            BODIES[cls.TYPE] = cls

    def to_json(self) -> dict[str, Any]:
        """JSON-ready form: slot values by `SlotValue.to_json`, tuples as lists."""
        return {item.name: _json_of(getattr(self, item.name)) for item in fields(self)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Body:
        """The inverse of `to_json`; unknown keys are refused with `TypeError`."""
        return cls(**{name: value_of(name, value) for name, value in data.items()})


def _json_of(value: Any) -> Any:
    if isinstance(value, SlotValue):
        return value.to_json()
    if isinstance(value, Mapping):
        return {key: _json_of(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [_json_of(item) for item in value]
    return plain(value)


def value_of(name: str, value: Any) -> Any:
    """A field of a body from its JSON form; `slots` hold slot values, lists become tuples."""
    if name == "slots":
        return {key: SlotValue.from_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return tuple(value_of("", item) for item in value)
    if isinstance(value, dict) or value is None:
        return value
    return stored(value)
