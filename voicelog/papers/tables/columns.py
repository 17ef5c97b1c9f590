"""The columns of the day's tables: CSV, XLSX and the data dictionary come from this one list."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

ColumnType = Literal["text", "integer", "decimal", "boolean", "date", "datetime"]

Item = str | int | Decimal | bool | None
"""What a field holds; None and the empty text are both an empty field."""
Record = dict[str, Item]


@dataclass(frozen=True)
class DataColumn:
    """A column as the data dictionary describes it."""

    name: str
    type: ColumnType
    unit: str
    meaning: str


def _columns(*rows: tuple[str, ColumnType, str, str]) -> tuple[DataColumn, ...]:
    return tuple(DataColumn(*row) for row in rows)


JOBS: Final = _columns(
    ("job", "integer", "", "number of the job, unique in the journal"),
    ("plate", "text", "", "registration as spelled; alternatives joined with ' or ' where in doubt"),
    ("vin", "text", "", "vehicle identification number as spelled"),
    ("vehicle", "text", "", "make and model as written by hand"),
    ("customer", "text", "", "name as written by hand"),
    ("state", "text", "", "open, at work, paused or finished"),
    ("opened_at", "datetime", "", "when the job was begun"),
    ("finished_at", "datetime", "", "when it was called finished; empty while it is not"),
    ("worked_min", "decimal", "min", "time the work timer ran, without a span still running"),
    ("dents", "integer", "", "dents on record, equal dents of one note counted each"),
    ("net_low", "decimal", "currency", "lowest sum without tax"),
    ("net_high", "decimal", "currency", "highest sum without tax"),
    ("tax_low", "decimal", "currency", "tax in the lowest total"),
    ("tax_high", "decimal", "currency", "tax in the highest total"),
    (
        "total_low",
        "decimal",
        "currency",
        "lowest total that the values in doubt allow; once a quote is accepted, its total",
    ),
    ("total_high", "decimal", "currency", "highest total; equal to total_low where it is settled"),
    ("tax_percent", "decimal", "%", "rate of the tax"),
    ("agreed", "decimal", "currency", "total of the accepted quote and supplements; empty without one"),
    ("invoices", "text", "", "numbers of invoices and credit notes, joined with '; '"),
    ("due_on", "date", "", "when the latest invoice is due"),
    ("invoiced", "decimal", "currency", "sum of invoices less credit notes"),
    ("paid", "decimal", "currency", "sum of what came in"),
    ("currency", "text", "", "ISO 4217 code"),
    ("confirmed", "boolean", "", "true where no value is in doubt and none is missing for the price"),
    ("checked_from", "text", "", "directions the lines were checked from, joined with '; '"),
    ("told", "text", "", "risks the customer was told of, each with its time, joined with '; '"),
    ("gaps", "text", "", "what was missing when it was called finished, joined with '; '"),
)

DENTS: Final = _columns(
    ("job", "integer", "", "number of the job"),
    ("dent", "integer", "", "number of the dent in its job; removed dents are left out"),
    ("panel", "text", "", "canonical name of the panel"),
    ("end", "text", "", "front or rear, where said"),
    ("side", "text", "", "left or right, where said"),
    ("material", "text", "", "material of the panel"),
    ("length_mm", "decimal", "mm", "longest extent, the value in force"),
    ("width_mm", "decimal", "mm", "width, the value in force"),
    ("count", "integer", "", "number of equal dents; empty for one"),
    ("shape", "text", "", "shape"),
    ("depth", "text", "", "depth"),
    ("features", "text", "", "features, joined with '; '"),
    ("access", "text", "", "access from behind"),
    ("take_off", "text", "", "parts to take off, joined with '; '"),
    ("method", "text", "", "method of repair"),
    ("belongs_to", "integer", "", "number of the dent it belongs to"),
    ("in_doubt", "text", "", "slots in doubt with all their values, joined with '; '; empty where settled"),
    ("paint_um", "text", "µm", "paint readings in order, joined with '; '"),
    ("risks", "text", "", "what may remain, joined with '; '"),
    ("steps", "integer", "", "steps of the repair on record"),
    ("worked_min", "decimal", "min", "time the work timer ran while the dent was open"),
    ("opened_at", "datetime", "", "when the dent was first spoken of"),
)

LINES: Final = _columns(
    ("job", "integer", "", "number of the job"),
    ("line", "integer", "", "place of the line in the job's estimate, from 1"),
    (
        "kind",
        "text",
        "",
        "what it charges (dent, cap, set-up, take-off, tax and so on), refusal or advice",
    ),
    ("text", "text", "", "what the line is about"),
    ("dents", "text", "", "numbers of the dents it covers, joined with '; '"),
    ("minutes_low", "decimal", "min", "minutes in the lowest total"),
    ("minutes_high", "decimal", "min", "minutes in the highest total"),
    ("amount_low", "decimal", "currency", "amount in the lowest total; empty where there is no price"),
    ("amount_high", "decimal", "currency", "amount in the highest total; empty where there is no price"),
    ("currency", "text", "", "ISO 4217 code"),
    ("counts", "boolean", "", "true where the amount is part of the total"),
    ("cause", "text", "", "why there is no price, in a word"),
    ("reason", "text", "", "why, and what to do instead"),
    ("card_entries", "text", "", "what each entry of the rate card did, joined with '; '"),
)

HEARD: Final = _columns(
    ("utterance", "integer", "", "number of the utterance in the journal"),
    ("source", "text", "", "name of the recording, microphone or typed"),
    ("start_s", "decimal", "s", "start from the beginning of the source"),
    ("end_s", "decimal", "s", "end from the beginning of the source"),
    ("words", "text", "", "words heard"),
    ("confidence", "decimal", "", "how sure the recogniser was, 0 to 1"),
    ("decision", "text", "", "accepted, asked or rejected"),
    ("kind", "text", "", "kind of the note"),
    ("answer", "text", "", "what was said back"),
    ("reason", "text", "", "why it was asked or rejected"),
)

TABLES: Final = {"jobs": JOBS, "dents": DENTS, "lines": LINES, "heard": HEARD}
"""The tables of the day by name, in the order of the workbook's sheets."""

DICTIONARY: Final = _columns(
    ("table", "text", "", "name of the table"),
    ("column", "text", "", "name of the column"),
    ("type", "text", "", "text, integer, decimal, boolean, date or datetime"),
    ("unit", "text", "", "unit; 'currency' for money in the column currency"),
    ("meaning", "text", "", "what it holds"),
)

TYPES: Final = {
    "text": "UTF-8; an apostrophe stands before text that a spreadsheet could take for a formula",
    "integer": "whole number",
    "decimal": "number with a point",
    "boolean": "true or false",
    "date": "ISO 8601 calendar date",
    "datetime": "ISO 8601 with offset from UTC; in the workbook the time of day of the workshop",
}
"""How each type is written in CSV."""


def dictionary() -> list[Record]:
    """The data dictionary as rows of its own table."""
    rows: list[Record] = [
        {"table": table, "column": c.name, "type": c.type, "unit": c.unit, "meaning": c.meaning}
        for table, columns in TABLES.items()
        for c in columns
    ]
    rows += [
        {"table": "(all)", "column": "(type)", "type": name, "unit": "", "meaning": how}
        for name, how in TYPES.items()
    ]
    return rows
