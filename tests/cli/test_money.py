"""The office's commands: what they write, what they refuse, and that the ledger reads back."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

DEMO = Path(__file__).parents[2] / "demo"


def run(log: Path, *words: str, ok: bool = True) -> str:
    """A command; its output, or its one line of error."""
    options = ["--log", str(log)]
    if words[0] not in ("ledger", "statement"):
        options += ["--card", str(DEMO / "rate-card.toml")]
    done = subprocess.run(
        [sys.executable, "-m", "voicelog", *words, *options], capture_output=True, text=True, timeout=120
    )
    assert done.returncode == (0 if ok else 2), done.stderr
    return done.stdout if ok else done.stderr


def test_from_agreed_to_paid(tmp_path: Path) -> None:
    """A 30 mm dent in a steel roof: 24 min × 66 / 60 = 26.40, call-out 20.00, VAT 9.28: 55.68."""
    log = tmp_path / "j.db"
    run(log, "say", "new job", "roof steel thirty mil shallow push", "give quote", "quote accepted")
    first = json.loads(run(log, "invoice", "1", "--json"))
    assert (first["total"]["low"], first["kind"]) == ("55.68", "invoice")
    assert re.fullmatch(r"INV-\d{4}-[A-Z2-7]{4}-0001", first["invoice"])
    assert "invoiced already as" in run(log, "invoice", "1", ok=False)
    assert json.loads(run(log, "paid", "1", "20", "--by", "cash", "--json"))["balance"] == "35.68"
    # what comes later changes nothing that was issued
    run(log, "say", "bonnet steel thirty mil", "discount five percent", "job finished")
    assert "invoiced already as" in run(log, "invoice", "1", ok=False)
    run(log, "say", "give quote", "quote accepted")
    second = json.loads(run(log, "invoice", "1", "--json"))
    assert (second["invoice"][-4:], second["of"]) == ("0002", first["invoice"])
    run(log, "invoice", "1", "--credit", first["invoice"])
    rows = list(csv.DictReader(io.StringIO(run(log, "ledger"))))
    assert [(row["kind"], row["total"]) for row in rows if row["kind"] != "payment"] == [
        ("invoice", "55.68"), ("invoice", second["total"]["low"]), ("credit-note", "-55.68"),
    ]  # fmt: skip
    assert [(row["how"], row["total"]) for row in rows if row["kind"] == "payment"] == [("cash", "-20.00")]


def test_what_customer_and_insurer_owe(tmp_path: Path) -> None:
    """Of the 55.68 above 20 is the customer's and 35.68 the insurer's, of which 30 is paid: 5.68."""
    log = tmp_path / "j.db"
    run(log, "say", "new job", "customer is Ada Example", "insurer Invented Mutual", "excess twenty",
        "roof steel thirty mil shallow push")  # fmt: skip
    run(log, "invoice", "1")
    assert "open £25.68 (customer £20.00, insurer £5.68)" in run(log, "paid", "1", "30", "--payer", "insurer")
    for who, open_ in (("Ada Example", "20.00"), ("invented mutual", "5.68")):
        (account,) = json.loads(run(log, "statement", who, "--json"))["statements"]
        assert account["after"] == open_
    whole = [(row["open"], row["insurer"], row["insurer_total"], row["insurer_open"])
             for row in csv.DictReader(io.StringIO(run(log, "ledger")))]  # fmt: skip
    assert whole == [
        ("25.68", "Invented Mutual", "35.68", "5.68"), ("0.00", "Invented Mutual", "-30.00", "0.00"),
    ]  # fmt: skip
    assert "by whom? one of customer, insurer" in run(log, "paid", "1", "5", "--payer", "aunt", ok=False)


def test_what_is_not_settled_needs_a_yes(tmp_path: Path) -> None:
    log = tmp_path / "j.db"
    run(log, "say", "new job", "roof thirty mil")
    assert "material steel or aluminium; add --yes" in run(log, "invoice", "1", ok=False)
    assert json.loads(run(log, "invoice", "1", "--yes", "--json"))["total"]["low"] == "55.68"
    run(log, "say", "new job")
    assert "the total is nought" in run(log, "invoice", "2", ok=False)


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("invoice", "9"), "there is no job 9"),
        (("paid", "1", "ten"), "ten is no amount"),
        (("paid", "1", "nan"), "nan is no amount"),
        (("paid", "1", "10", "--by", "cheque"), "one of cash, card, transfer, other"),
        (("paid", "1", "10", "--date", "yesterday"), "--date yesterday is no date"),
        (("paid", "1"), "nothing is open"),
        (("statement", "Nobody"), "no invoice was issued to Nobody"),
        (("invoice", "1", "--credit", "INV-1"), "no invoice INV-1 to be credited"),
    ],
)
def test_bad_input_is_one_line(tmp_path: Path, words: tuple[str, ...], line: str) -> None:
    log = tmp_path / "j.db"
    run(log, "say", "new job", "roof steel thirty mil")
    error = run(log, *words, ok=False)
    assert line in error
    assert error.count("\n") == 1


def test_two_devices_at_one_car_are_one_invoice(tmp_path: Path) -> None:
    """Findings, trade 2 and missing: (2 × 24 min × 66 / 60 + 20) × 1.2 = 87.36, and once only."""
    plate = "new job plate alfa bravo two six kilo lima mike"
    van, tablet = tmp_path / "van.db", tmp_path / "tablet.db"
    run(van, "say", plate, "roof steel thirty mil shallow push")
    run(tablet, "say", plate, "bonnet steel thirty mil shallow push")

    def merge(*words: str) -> str:
        command = [sys.executable, "-m", "voicelog", "merge", str(tablet), "--log", str(van), *words]
        return subprocess.run(command, capture_output=True, text=True, timeout=120, check=True).stdout

    assert "may be one car: Job 1 AB26KLM and Job 1 AB26KLM" in merge()
    assert len(json.loads(run(van, "jobs", "--json"))["jobs"]) == 2
    assert "Job 1 AB26KLM joined to Job 1 AB26KLM" in merge("--join")
    assert "joined" not in merge("--join")
    (job,) = json.loads(run(van, "jobs", "--json"))["jobs"]
    assert (job["total"]["low"], job["plate"], job["state"]) == ("87.36", "AB26KLM", "open")
    assert json.loads(run(van, "invoice", "1", "--json"))["total"]["low"] == "87.36"
    assert "AB26KLM" in run(van, "jobs")
