"""Tables as CSV (RFC 4180, UTF-8) and as one XLSX workbook."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal

import xlsxwriter  # type: ignore[import-untyped]

from voicelog.papers.tables.columns import DICTIONARY, TABLES, DataColumn, Item, Record, dictionary
from voicelog.papers.text import cell_text

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


def workbook(records: Mapping[str, Sequence[Record]], made_at: datetime, title: str) -> bytes:
    """All tables as sheets, then the data dictionary; no formula, link or macro is ever written."""
    buffer = io.BytesIO()
    options = {
        "in_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
    }
    with xlsxwriter.Workbook(buffer, options) as book:
        book.set_properties({"title": title, "created": made_at.replace(tzinfo=None)})
        head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        formats = {name: book.add_format({"num_format": form}) for name, form in _FORMATS.items()}
        for name, columns in TABLES.items():
            _sheet(book.add_worksheet(name.capitalize()), columns, records[name], head, formats)
        _sheet(book.add_worksheet("Dictionary"), DICTIONARY, dictionary(), head, formats)
    return buffer.getvalue()


_FORMATS = {"text": "@", "integer": "0", "decimal": "0.00", "boolean": "General", "datetime": "@"}


def _sheet(
    sheet: xlsxwriter.worksheet.Worksheet,
    columns: Sequence[DataColumn],
    records: Sequence[Record],
    head: xlsxwriter.format.Format,
    formats: Mapping[str, xlsxwriter.format.Format],
) -> None:
    sheet.freeze_panes(1, 0)
    for place, column in enumerate(columns):
        sheet.write_string(0, place, column.name, head)
        widest = max([len(column.name), *(len(str(record[column.name] or "")) for record in records)])
        sheet.set_column(place, place, min(widest + 2, _WIDEST))
        for line, record in enumerate(records, start=1):
            _write(sheet, line, place, column, record[column.name], formats[column.type])
    if records:
        sheet.autofilter(0, 0, len(records), len(columns) - 1)


def _write(
    sheet: xlsxwriter.worksheet.Worksheet,
    line: int,
    place: int,
    column: DataColumn,
    item: Item,
    form: xlsxwriter.format.Format,
) -> None:
    if item is None or item == "":
        return
    if column.type == "boolean":
        sheet.write_boolean(line, place, bool(item), form)
    elif column.type in ("integer", "decimal"):
        sheet.write_number(line, place, float(item), form)
    else:
        sheet.write_string(line, place, cell_text(str(item))[:LONGEST_CELL], form)
