"""The form of an exported journal: JSON Lines, one event a line.

The first line is `{"format": "voicelog-journal", "format_version": 1}`, the last one
`{"end": true, "events": N}`.  Between them stands one event a line, in the order in
which events count (that of their ids):

    id, group, job   text; job may be null
    at               wall clock, ISO 8601 with offset
    order            whole number, counted by the device from 1
    device, version  text: which device and which voicelog wrote it
    type, schema     the kind of event and the version of its body
    body             what happened, without personal parts
    derived          what it was derived from
    personal         hex SHA-256 of `salt + ":" + JSON of apart`, or null
    salt, apart      the personal parts, merged into body by key; null where there are
                     none or where they were forgotten
    prev, hash       hex; hash is SHA-256 over the JSON array [id, group, at, order,
                     device, version, job, type, schema, body, derived, personal, prev],
                     body and derived as JSON text; prev is the hash of the event before
                     of the same device, "" for its first

JSON text that is hashed has sorted keys, no spaces, and no escapes beyond those needed.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any, Final

from voicelog.errors import VoicelogError
from voicelog.journal.rows import COLUMNS, Row, canonical

HEADER: Final = {"format": "voicelog-journal", "format_version": 1}
_BINARY: Final = ("personal", "prev", "hash")
_NAMES: Final = {"grp": "group", "ord": "order"}
"""Names in JSON where they differ from the columns."""


def lines(rows: Iterable[Row]) -> Iterator[str]:
    """Rows in the form of an export."""
    yield line_text(HEADER)
    count = 0
    for row in rows:
        count += 1
        yield line_text(line_of({**row.__dict__}))
    yield line_text({"end": True, "events": count})


def line_text(data: Any) -> str:
    """One line of the file."""
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")) + "\n"


def line_of(columns: dict[str, Any]) -> dict[str, Any]:
    """A row, by its columns, as the data of a line."""
    line: dict[str, Any] = {}
    for name, value in columns.items():
        if name in ("seq", "data"):
            continue
        if name in ("body", "derived"):
            value = json.loads(value)
        elif isinstance(value, bytes):
            value = value.hex()
        line[_NAMES.get(name, name)] = value
    data = columns["data"]
    line["apart"] = None if data is None else json.loads(data)
    return line


def read_lines(file: Iterable[str], where: str = "") -> Iterator[Row]:
    """The rows of an export.

    Raises:
        VoicelogError: it is no export, of a newer format, damaged, or cut off.
    """
    count = -1
    for number, text in enumerate(_texts(file, where), start=1):
        try:
            data = json.loads(text)
            if count < 0:
                _check_header(data, where)
            elif data.get("end"):
                if data["events"] != count:
                    raise ValueError(f"{data['events']} events were meant to be here, {count} are")
                return
            else:
                yield _row(data)
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise VoicelogError(f"line {number} cannot be read ({error})", where=where) from error
        count += 1
    raise VoicelogError("it is cut off: the last line is missing", where=where, todo="export again")


def _texts(file: Iterable[str], where: str) -> Iterator[str]:
    """The lines; a failure of reading is that of this file, not of the journal it goes into."""
    try:
        yield from file
    except UnicodeDecodeError as error:
        raise VoicelogError(
            "is no text in UTF-8 (compressed, or another encoding?)",
            where=where,
            todo="give a file of export-journal as it was written",
        ) from error
    except OSError as error:
        raise VoicelogError(error.strerror or str(error), where=where) from error


def _check_header(data: Any, where: str) -> None:
    if not isinstance(data, dict) or data.get("format") != HEADER["format"]:
        raise VoicelogError("is no exported journal", where=where, todo="give a file of export-journal")
    if data["format_version"] != HEADER["format_version"]:
        raise VoicelogError("is from a newer version", where=where, todo="update voicelog")


def _row(data: dict[str, Any]) -> Row:
    values = {name: data[_NAMES.get(name, name)] for name in COLUMNS}
    for name in ("body", "derived"):
        values[name] = canonical(values[name])
    for name in ("prev", "hash"):
        values[name] = bytes.fromhex(values[name])
    if values["personal"] is not None:
        values["personal"] = bytes.fromhex(values["personal"])
    for name, value in values.items():
        wanted = int if name in ("ord", "schema") else str
        if name not in _BINARY and type(value) is not wanted and (name != "job" or value is not None):
            raise TypeError(f"{name} is no {wanted.__name__}")
    apart = data["apart"]
    if not isinstance(data["salt"], str | None) or (apart is None) != (data["salt"] is None):
        raise TypeError("salt and apart do not go together")
    return Row(**values, salt=data["salt"], data=None if apart is None else canonical(apart))
