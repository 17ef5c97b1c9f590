"""Tables as CSV (RFC 4180, UTF-8) and as one XLSX workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import datetime, tzinfo
from decimal import Decimal
from functools import lru_cache

import xlsxwriter  # type: ignore[import-untyped]

from voicelog.estimate.money import minor_digits
from voicelog.papers.tables.columns import DICTIONARY, TABLES, DataColumn, Item, Record, dictionary
from voicelog.papers.text import cell_text, clean

LONGEST_CELL = 32_767
"""Characters a cell of a workbook holds (the file format's limit)."""
_WIDEST = 48


def table_csv(columns: Sequence[DataColumn], records: Sequence[Record]) -> bytes:
    """A table with a head line; text that could be taken for a formula is made harmless."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow([column.name for column in columns])
    writer.writerows([_field(column, record[column.name]) for column in columns] for record in records)
    return buffer.getvalue().encode("utf-8")


def dictionary_csv() -> bytes:
    """The data dictionary."""
    return table_csv(DICTIONARY, dictionary())


def _field(column: DataColumn, item: Item) -> str:
    if item is None or item == "":
        return ""
    if column.type == "boolean":
        return "true" if item else "false"
    if column.type in ("integer", "decimal"):
        return f"{item:f}" if isinstance(item, Decimal) else str(item)
    return cell_text(str(item))


def workbook(
    records: Mapping[str, Sequence[Record]], made_at: datetime, title: str, zone: tzinfo | None
) -> bytes:
    """All tables as sheets, then the data dictionary; no formula, link or macro is ever written.

    Args:
        zone: whose time of day the sheets show; None for times as recorded.
    """
    buffer = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "remove_timezone": True,
    }
    with xlsxwriter.Workbook(buffer, options) as book:
        book.set_properties({"title": title, "created": made_at.replace(tzinfo=None)})
        for name, columns in TABLES.items():
            _Sheet(book, name, zone).fill(columns, records[name])
        _Sheet(book, "dictionary", zone).fill(DICTIONARY, dictionary())
    return buffer.getvalue()


class _Sheet:
    """A sheet of the workbook, being filled."""

    def __init__(self, book: xlsxwriter.Workbook, name: str, zone: tzinfo | None) -> None:
        self._sheet = book.add_worksheet(name.capitalize())
        self._zone = zone
        self._head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        # Text stays text when it is edited, also where it begins like a formula.
        self._text = book.add_format({"num_format": "@", "quote_prefix": True})
        self._number = lru_cache(maxsize=None)(lambda form: book.add_format({"num_format": form}))

    def fill(self, columns: Sequence[DataColumn], records: Sequence[Record]) -> None:
        """Write the head and every record."""
        self._sheet.freeze_panes(1, 0)
        for place, column in enumerate(columns):
            self._sheet.write_string(0, place, column.name, self._head)
            widest = max([len(column.name), *(len(str(record[column.name] or "")) for record in records)])
            self._sheet.set_column(place, place, min(widest + 2, _WIDEST))
            for line, record in enumerate(records, start=1):
                self._write(line, place, column, record)
        if records:
            self._sheet.autofilter(0, 0, len(records), len(columns) - 1)

    def _write(self, line: int, place: int, column: DataColumn, record: Record) -> None:
        item = record[column.name]
        if item is None or item == "":
            return
        if column.type == "boolean":
            self._sheet.write_boolean(line, place, bool(item))
        elif column.type in ("integer", "decimal"):
            self._sheet.write_number(line, place, float(item), self._number(_digits(column, record)))
        elif column.type in ("date", "datetime"):
            at = datetime.fromisoformat(str(item)).replace(microsecond=0)
            form = "yyyy-mm-dd" if column.type == "date" else "yyyy-mm-dd hh:mm:ss"
            local = at if self._zone is None or at.tzinfo is None else at.astimezone(self._zone)
            self._sheet.write_datetime(line, place, local, self._number(form))
        else:
            self._sheet.write_string(line, place, clean(str(item))[:LONGEST_CELL], self._text)


def _digits(column: DataColumn, record: Record) -> str:
    """Money with the decimals of its currency (ISO 4217), other numbers as they are."""
    if column.unit != "currency":
        return "General"
    digits = minor_digits(str(record["currency"]))
    return f"#,##0.{'0' * digits}" if digits else "#,##0"
