"""TOML files as checked models: a text in, a pydantic model out, or one line with every error in it.

The rate card, agreements and settings are read with it.  Whoever imports this imports pydantic.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError
from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from voicelog.errors import VoicelogError


class TomlModel(BaseModel):
    """A table of a file: unknown keys are errors, values are of the very type, nothing changes later."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def _exact(value: Any) -> Any:
    return Decimal(value) if isinstance(value, int) and not isinstance(value, bool) else value


Number = Annotated[Decimal, BeforeValidator(_exact), Field(decimal_places=6, ge=-(10**9), le=10**9)]
"""A whole or decimal number of TOML as the exact decimal it was written as (needs `parse_float=Decimal`)."""


def _one_line(value: str) -> str:
    if not value.strip() or "\n" in value:
        raise ValueError("should be a text in one line")
    return value.strip()


Text = Annotated[str, AfterValidator(_one_line)]
"""A text in one line, not empty."""

_PLAIN = {
    "is_instance_of": "should be a number",
    "string_type": "should be a text",
    "bool_type": "should be true or false",
    "int_type": "should be a whole number",
    "float_type": "should be a number",
    "dict_type": "should be a table",
    "model_type": "should be a table",
    "tuple_type": "should be a list",
}
"""What pydantic says in Python's words, in the words of a file."""


def one_of(names: Iterable[str]) -> AfterValidator:
    """Only these values; the error names the nearest of them."""
    allowed = tuple(names)

    def check(value: str) -> str:
        if value not in allowed:
            known = ", ".join(f"'{name}'" for name in allowed)
            raise PydanticCustomError("one_of", "Input should be {shown}", {
                "expected": known, "shown": f"one of {known}" if len(allowed) <= 30 else "a known code",
            })  # fmt: skip
        return value

    return AfterValidator(check)


Model = TypeVar("Model", bound=BaseModel)


def load_toml(
    model: type[Model], path: Path, *, parse_float: Callable[[str], Any] = float, todo: str | None = None
) -> Model:
    """A file read and checked; see `read_toml` and `read_text`."""
    return read_toml(model, read_text(path), where=str(path), parse_float=parse_float, todo=todo)


def read_text(path: Path) -> str:
    """The text of a file in UTF-8.

    Raises:
        VoicelogError: it cannot be read or is not UTF-8.
    """
    try:
        return path.read_bytes().decode("utf-8")
    except OSError as error:
        raise VoicelogError(error.strerror or "cannot be read", where=str(path)) from error
    except UnicodeDecodeError as error:
        raise VoicelogError("not UTF-8", where=str(path), todo="save it as UTF-8") from error


def read_toml(
    model: type[Model],
    text: str,
    *,
    where: str | None = None,
    parse_float: Callable[[str], Any] = float,
    todo: str | None = None,
) -> Model:
    """The model in a text of TOML.  Lists become tuples.

    Args:
        where: the file's name for errors.
        parse_float: `Decimal` for a model with `Number` fields.
        todo: what to do about an error.

    Raises:
        VoicelogError: every error, each with table, key, value, what is wrong and the nearest known name.
    """
    try:
        data = tomllib.loads(text, parse_float=parse_float)
    except (tomllib.TOMLDecodeError, ArithmeticError) as error:
        raise VoicelogError(f"not TOML: {error}", where=where, todo=todo) from error
    try:
        return model.model_validate(_tuples(data))
    except ValidationError as error:
        found = error.errors(include_url=False)
        # A default that rests on a wrong value is no error of its own.
        lines = [_line(model, one) for one in found if one["type"] != "default_factory_not_called"]
        raise VoicelogError(" | ".join(lines), where=where, todo=todo) from error


def _tuples(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _tuples(item) for key, item in value.items()}
    return tuple(map(_tuples, value)) if isinstance(value, list) else value


def _line(model: type[BaseModel], error: ErrorDetails) -> str:
    """One error: "[adders.shape] creese = {percent = 4}: unknown key, did you mean crease?"."""
    path: list[str] = []
    for part in error["loc"]:
        if isinstance(part, int):
            path[-1] += f"[{part}]"
        elif part != "[key]":
            path.append(part)
    table = f"[{'.'.join(path[:-1])}] " if path[:-1] else ""
    key = path[-1] if path else "file"
    shown = "" if error["loc"][-1:] == ("[key]",) else f" = {toml_text(error['input'])}: "
    known = re.findall(r"'([^']*)'", error.get("ctx", {}).get("expected", ""))
    said = str(error["input"])
    if error["type"] == "missing":
        shown, message = " ", "is missing"
    elif error["type"] == "extra_forbidden":
        known, said = _names(model, error["loc"]), key
        message = "unknown key"
    else:
        message = re.sub(r"^(Value error, |(Decimal i|I)nput |Tuple )", "", error["msg"])
        message = _PLAIN.get(error["type"], message)
    near = nearest_to(said, known)
    hint = f", did you mean {near}?" if near else ""
    if error["type"] == "extra_forbidden" and not near:
        hint = f", known are {', '.join(known)}"
    return f"{table}{key}{shown or ': '}{message}{hint}"


def _names(model: type[BaseModel], path: tuple[int | str, ...]) -> list[str]:
    """The keys of the table on the way to which an unknown key stands."""
    for key in path[:-1]:
        field = model.model_fields.get(str(key))
        inner = _table_in(field.annotation) if field else None
        model = inner or model  # a key that is no field belongs to a mapping of tables
    return [field.alias or name for name, field in model.model_fields.items()]


def _table_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(_table_in, get_args(annotation))), None)


def toml_text(value: Any) -> str:
    """A value as TOML writes it, cut at 60 characters."""
    if isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, Mapping):
        text = "{" + ", ".join(f"{key} = {toml_text(item)}" for key, item in value.items()) + "}"
    elif isinstance(value, tuple):
        text = f"[{', '.join(map(toml_text, value))}]"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def nearest_to(word: str, known: Iterable[str]) -> str:
    """The known name with the fewest letters wrong, missing, added or swapped; empty where none is near."""
    names = {name.lower().replace("_", "-"): name for name in known}
    found = process.extractOne(
        word.lower().replace("_", "-"),
        list(names),
        scorer=DamerauLevenshtein.normalized_similarity,
        score_cutoff=0.6,
    )
    return names[found[0]] if found else ""
