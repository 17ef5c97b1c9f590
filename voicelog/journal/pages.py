"""Records straight from the pages of an SQLite file, without its indexes, for a file SQLite cannot read.

Follows "Database File Format" (https://www.sqlite.org/fileformat2.html), sections 1.3 (header),
1.6 (b-tree pages), 2.1 (records) and 4 (write-ahead log).  Pages and cells that make no sense are
passed over; whoever reads the records tells by their hashes which are whole.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

Record = tuple[Any, ...]
"""Values of one row; the row number, which is not in the record, reads as None."""

_LEAF_OF_TABLE, _LEAF_OF_INDEX, _INNER_OF_INDEX = 0x0D, 0x0A, 0x02
_SIZES: Final = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}
"""Bytes of whole numbers by their serial type."""
_USUAL_PAGE: Final = 4096
_MOST: Final = 1 << 26
"""No record of a journal is longer than this: a length beyond it is damage."""


class Pages:
    """All images of the pages of a database: those in its write-ahead log, then those in the file.

    Args:
        path: the database; its "-wal" is read where there is one.
    """

    def __init__(self, path: Path) -> None:
        self._data = path.read_bytes()
        wal = path.with_name(path.name + "-wal")
        log = wal.read_bytes() if wal.is_file() else b""
        self._size = _page_size(self._data, log)
        reserved = self._data[20] if len(self._data) > 20 and self._data[20] < 64 else 0
        self._usable = self._size - reserved
        self._frames = dict(_frames(log, self._size))
        """Last committed image of a page, by its number."""

    def records(self) -> Iterator[Record]:
        """Every record that can be made out, of tables and of their indexes alike."""
        for number in range(1, len(self._data) // self._size + 1):
            yield from self._of_page(self._data[(number - 1) * self._size : number * self._size], number)
        for number, page in self._frames.items():
            yield from self._of_page(page, number)

    def _of_page(self, page: bytes, number: int) -> Iterator[Record]:
        start = 100 if number == 1 else 0
        kind = page[start]
        if kind not in (_LEAF_OF_TABLE, _LEAF_OF_INDEX, _INNER_OF_INDEX):
            return
        count = int.from_bytes(page[start + 3 : start + 5])
        first = start + (12 if kind == _INNER_OF_INDEX else 8)
        for cell in range(min(count, (len(page) - first) // 2)):
            at = int.from_bytes(page[first + 2 * cell : first + 2 * cell + 2])
            try:
                yield _record(self._payload(page, at, kind))
            except (ValueError, IndexError, struct.error, UnicodeDecodeError):
                continue

    def _payload(self, page: bytes, at: int, kind: int) -> bytes:
        at += 4 if kind == _INNER_OF_INDEX else 0
        length, at = _varint(page, at)
        if kind == _LEAF_OF_TABLE:
            _, at = _varint(page, at)
        if length > _MOST:
            raise ValueError("too long")
        here = self._here(length, kind)
        found = page[at : at + here]
        following = int.from_bytes(page[at + here : at + here + 4]) if here < length else 0
        parts, size = [found], len(found)
        while size < length:
            more = self._page(following)
            parts.append(more[4 : self._usable][: length - size])
            size += len(parts[-1])
            following = int.from_bytes(more[:4])
        return b"".join(parts)

    def _here(self, length: int, kind: int) -> int:
        """How many bytes of a payload are on its own page."""
        usable = self._usable
        most = usable - 35 if kind == _LEAF_OF_TABLE else (usable - 12) * 64 // 255 - 23
        least = (usable - 12) * 32 // 255 - 23
        if length <= most:
            return length
        fitting = least + (length - least) % (usable - 4)
        return fitting if fitting <= most else least

    def _page(self, number: int) -> bytes:
        page = self._frames.get(number) or self._data[(number - 1) * self._size : number * self._size]
        if number < 1 or len(page) != self._size:
            raise ValueError("no such page")
        return page


def _page_size(data: bytes, log: bytes) -> int:
    sizes = (int.from_bytes(data[16:18]), int.from_bytes(log[8:12]))
    found = (65536 if size == 1 else size for size in sizes)
    return next((size for size in found if size >= 512 and size & (size - 1) == 0), _USUAL_PAGE)


def _frames(log: bytes, size: int) -> Iterator[tuple[int, bytes]]:
    """(page number, image) of what was committed since the log began anew, oldest first."""
    salts, waiting = log[16:24], list[tuple[int, bytes]]()
    for at in range(32, len(log) - 24 - size + 1, 24 + size):
        number, pages = struct.unpack(">II", log[at : at + 8])
        if log[at + 8 : at + 16] != salts:
            return
        waiting.append((number, log[at + 24 : at + 24 + size]))
        if pages:  # the last frame of a transaction says how many pages the file has then
            yield from waiting
            waiting.clear()


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of one to nine bytes, and where it ends."""
    value = 0
    for step in range(8):
        value = value << 7 | data[at + step] & 0x7F
        if data[at + step] < 0x80:
            return value, at + step + 1
    return value << 8 | data[at + 8], at + 9


def _record(payload: bytes) -> Record:
    end, at = _varint(payload, 0)
    values, body = [], end
    while at < end:
        kind, at = _varint(payload, at)
        size = _size(kind)
        if body + size > len(payload):
            raise ValueError("cut off")
        values.append(_value(kind, payload[body : body + size]))
        body += size
    return tuple(values)


def _size(kind: int) -> int:
    if kind >= 12:
        return (kind - 12) // 2
    return 8 if kind == 7 else _SIZES.get(kind, 0)


def _value(kind: int, data: bytes) -> Any:
    if kind >= 12:
        return data.decode() if kind % 2 else data
    if kind == 7:
        return struct.unpack(">d", data)[0]
    if kind in _SIZES:
        return int.from_bytes(data, signed=True)
    return {8: 0, 9: 1}.get(kind)
