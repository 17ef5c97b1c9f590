"""The day's tables read back by other programs: csv, a JSON Schema validator, openpyxl, LibreOffice."""

from __future__ import annotations

import csv
import io
import json
import shutil
import subprocess
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from invented_day import HEARDS, NOW, Tape

from voicelog.estimate.card import default_card, read_card
from voicelog.estimate.card.model import Card
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import State
from voicelog.journal.events import Heard
from voicelog.papers import Letterhead, schema, write_papers
from voicelog.papers.tables.columns import TABLES, TYPES

jsonschema = pytest.importorskip("jsonschema", reason="needs jsonschema to validate the day log")
openpyxl = pytest.importorskip("openpyxl", reason="needs openpyxl to read workbooks")

SOFFICE = shutil.which("soffice")
DAY = "2026-03-02"
READ = {
    "text": str,
    "integer": int,
    "decimal": Decimal,
    "boolean": {"true": True, "false": False}.__getitem__,
    "date": date.fromisoformat,
    "datetime": datetime.fromisoformat,
}
"""How the data dictionary says each type is written."""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory, day: State, card: Card, letterhead: Letterhead) -> Path:
    """The day log as data."""
    folder = tmp_path_factory.mktemp("data")
    formats = ("csv", "json", "xlsx")
    write_papers(day, card, letterhead, folder, which=("day-log",), formats=formats, heards=HEARDS, now=NOW)
    return folder


def rows(path: Path) -> list[dict[str, str]]:
    """A CSV file by the csv module."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def typed(folder: Path, table: str) -> list[dict[str, Any]]:
    """A table read with the types that the data dictionary file gives, empty fields as None."""
    types = {
        row["column"]: row["type"] for row in rows(folder / "data-dictionary.csv") if row["table"] == table
    }
    return [
        {name: READ[types[name]](text) if text else None for name, text in row.items()}
        for row in rows(folder / f"day-{table}-{DAY}.csv")
    ]


def test_the_dictionary_names_every_column_and_type(written: Path) -> None:
    listed = rows(written / "data-dictionary.csv")
    for table in TABLES:
        with (written / f"day-{table}-{DAY}.csv").open(encoding="utf-8", newline="") as file:
            head = next(csv.reader(file))
        assert [row["column"] for row in listed if row["table"] == table] == head
    assert {row["type"] for row in listed} == set(TYPES) == set(READ)
    assert all(row["meaning"] for row in listed)


def test_csv_reads_back_with_the_types_of_the_dictionary(written: Path, day: State, card: Card) -> None:
    jobs = typed(written, "jobs")
    assert [job["job"] for job in jobs] == [1, 2]
    assert [job["confirmed"] for job in jobs] == [True, False]
    assert jobs[0]["finished_at"] == datetime.fromisoformat(day.jobs["job-1"].finished_at or "")
    assert jobs[1]["finished_at"] is None
    for job, record in zip(jobs, day.jobs.values(), strict=True):
        estimate = price_job(record, card)
        assert (job["total_low"], job["total_high"]) == (estimate.total.low, estimate.total.high)
        counted = [line for line in typed(written, "lines") if line["job"] == job["job"] and line["counts"]]
        assert sum(line["amount_low"] for line in counted) == job["total_low"]
        assert sum(line["amount_high"] for line in counted) == job["total_high"]
    dents = typed(written, "dents")
    assert [(dent["job"], dent["dent"]) for dent in dents] == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)]
    assert dents[3]["in_doubt"] == "length_mm: 15 or 50; count: 22 or 32"
    assert dents[0]["length_mm"] == Decimal(45)
    assert [heard["confidence"] for heard in typed(written, "heard")] == [
        Decimal("0.970"), Decimal("0.620"), Decimal("0.120"),
    ]  # fmt: skip


def test_csv_keeps_to_rfc_4180(written: Path) -> None:
    """RFC 4180: lines end with CR LF, the same number of fields in every line."""
    for path in written.glob("*.csv"):
        data = path.read_bytes()
        assert data.endswith(b"\r\n")
        assert data.count(b"\n") == data.count(b"\r\n")
        lengths = {
            len(line) for line in csv.reader(io.StringIO(data.decode("utf-8"), newline=""), strict=True)
        }
        assert len(lengths) == 1


def test_pandas_reads_the_numbers_as_numbers(written: Path) -> None:
    pandas = pytest.importorskip("pandas", reason="needs pandas")
    frame = pandas.read_csv(written / f"day-jobs-{DAY}.csv")
    assert frame["total_low"].dtype.kind == "f"
    assert frame["confirmed"].dtype.kind == "b"
    assert frame["job"].dtype.kind == "i"


def test_the_schema_is_draft_2020_12_and_the_day_log_keeps_to_it(written: Path) -> None:
    found = schema()
    assert found["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(found)
    data = json.loads((written / f"day-log-{DAY}.json").read_text(encoding="utf-8"))
    checker = jsonschema.Draft202012Validator(found, format_checker=jsonschema.FormatChecker())
    assert [f"{error.json_path}: {error.message}" for error in checker.iter_errors(data)] == []


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("version",), 2),
        (("from",), "2 March"),
        (("jobs", 0, "dents", 0, "slots", "panel"), "hood"),
        (("jobs", 0, "dents", 0, "slots", "length_mm"), "45"),
        (("jobs", 0, "estimate", "total", "low"), 261.0),
        (("jobs", 0, "opened_at"), "2026-03-02 08:31"),
        (("jobs", 1, "dents", 0, "unconfirmed", "count"), [22]),
        (("heard", 0, "decision"), "maybe"),
    ],
)
def test_the_schema_refuses_what_is_wrong(written: Path, path: tuple[Any, ...], value: Any) -> None:
    data = json.loads((written / f"day-log-{DAY}.json").read_text(encoding="utf-8"))
    place = data
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    assert list(jsonschema.Draft202012Validator(schema()).iter_errors(data))


def test_json_totals_equal_the_estimates(written: Path, day: State, card: Card) -> None:
    data = json.loads((written / f"day-log-{DAY}.json").read_text(encoding="utf-8"))
    for job in data["jobs"]:
        assert job["estimate"] == price_job(day.jobs[job["id"]], card).to_json()
    (total,) = data["totals"]
    assert Decimal(total["low"]) == sum(Decimal(job["estimate"]["total"]["low"]) for job in data["jobs"])
    assert total["confirmed"] is False


def test_the_workbook_holds_the_same_as_the_csv(written: Path) -> None:
    book = openpyxl.load_workbook(written / f"day-log-{DAY}.xlsx")
    assert book.sheetnames == ["Jobs", "Dents", "Lines", "Heard", "Dictionary"]
    for table in TABLES:
        head, *lines = book[table.capitalize()].iter_rows(values_only=True)
        expected = typed(written, table)
        assert len(lines) == len(expected)
        for line, row in zip(lines, expected, strict=True):
            for name, found in zip(head, line, strict=True):
                wanted = row[name]
                if isinstance(wanted, Decimal):
                    assert Decimal(str(found)) == wanted, name
                elif isinstance(wanted, datetime):
                    # The workshop is in London, which is at UTC in March: its time of day is that of UTC.
                    assert found == wanted.replace(tzinfo=None, microsecond=0), name
                elif isinstance(wanted, date):
                    assert found.date() == wanted, name
                else:
                    # An apostrophe stands before what could be a formula in CSV alone.
                    assert found == (wanted.removeprefix("'") if isinstance(wanted, str) else wanted), name


def test_the_tables_know_what_was_agreed_invoiced_and_paid(written: Path) -> None:
    first, second = typed(written, "jobs")
    assert (first["agreed"], first["invoiced"], first["tax_percent"]) == (261, 261, 20)
    assert (first["invoices"], first["due_on"]) == ("INV-2026-TEST-0001", date(2026, 3, 16))
    assert first["total_low"] == first["total_high"] == first["agreed"]
    assert (second["agreed"], second["invoices"], second["invoiced"]) == (None, None, 0)
    data = json.loads((written / f"day-log-{DAY}.json").read_text(encoding="utf-8"))
    assert data["jobs"][0]["agreed"]["low"] == data["jobs"][0]["invoices"][0]["total"]["low"] == "261.00"


@pytest.mark.parametrize(("currency", "form"), [("KWD", "#,##0.000"), ("JPY", "#,##0"), ("GBP", "#,##0.00")])
def test_money_in_the_workbook_has_the_digits_of_its_currency(
    tmp_path: Path, day: State, letterhead: Letterhead, currency: str, form: str
) -> None:
    """ISO 4217: three decimals for KWD, none for JPY, two for GBP."""
    text = default_card("GB").text.replace('currency = "GBP"', f'currency = "{currency}"')
    write_papers(day, read_card(text), letterhead, tmp_path, jobs=[day.jobs["job-2"]], which=("day-log",),
                 formats=("xlsx",), now=NOW)  # fmt: skip
    sheet = openpyxl.load_workbook(tmp_path / f"day-log-{DAY}.xlsx")["Jobs"]
    head = [cell.value for cell in sheet[1]]
    cell = sheet.cell(2, head.index("total_low") + 1)
    assert cell.number_format == form
    assert sheet.cell(2, head.index("opened_at") + 1).is_date


def test_a_text_like_a_formula_has_no_apostrophe_in_the_workbook(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    """It is a text cell, which no program computes; the cell's format keeps it so when it is edited."""
    state = Tape().job(1, customer="=1+1", phone="+44 1632 960123").state()
    heard = Heard(1, "/home/x/Mrs Example/day.wav", 0, 1, "roof", 0.9, "accepted", "damage")
    write_papers(state, card, letterhead, tmp_path, which=("day-log",), heards=[heard], now=NOW)
    book = openpyxl.load_workbook(tmp_path / f"day-log-{DAY}.xlsx")
    head = [cell.value for cell in book["Jobs"][1]]
    cell = book["Jobs"].cell(2, head.index("customer") + 1)
    assert (cell.value, cell.data_type, cell.quotePrefix) == ("=1+1", "s", True)
    assert [row["source"] for row in rows(tmp_path / f"day-heard-{DAY}.csv")] == ["day.wav"]
    assert "Mrs Example" not in (tmp_path / f"day-log-{DAY}.json").read_text(encoding="utf-8")


@pytest.mark.skipif(SOFFICE is None, reason="needs LibreOffice (soffice)")
def test_libreoffice_opens_the_workbook(written: Path, tmp_path: Path) -> None:
    command = [
        str(SOFFICE), f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless",
        "--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,1",
        "--outdir", str(tmp_path / "office"), str(written / f"day-log-{DAY}.xlsx"),
    ]  # fmt: skip
    subprocess.run(command, capture_output=True, timeout=180, check=True)
    (path,) = (tmp_path / "office").glob("*.csv")
    found = rows(path)
    assert [row["plate"] for row in found] == ["VL26DNT", "AB12CDE"]
    for name in ("total_low", "total_high", "worked_min"):
        wanted = [Decimal(row[name]) for row in rows(written / f"day-jobs-{DAY}.csv")]
        assert [Decimal(row[name]) for row in found] == wanted
