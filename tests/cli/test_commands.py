"""The commands as outside programs call them."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.core import TyperGroup

from tests.cli.conftest import Run
from voicelog.cli.main import COMMANDS, EXAMPLES, app

CARD = Path(__file__).parents[2] / "demo" / "rate-card.toml"


def said(run: Run, *lines: str) -> list[dict[str, Any]]:
    """What `say --json` prints for lines."""
    ran = run("say", *lines, "--json", "--log", "j.db", "--card", CARD)
    assert ran.status == 0, ran.err
    return [json.loads(line) for line in ran.out.splitlines()]


ROWS: list[tuple[str, str, dict[str, Any]]] = [
    ("hood", "damage", {"panel": "bonnet"}),
    ("deck lid", "damage", {"panel": "boot-lid"}),
    ("lift gate", "damage", {"panel": "tailgate"}),
    ("left fender", "damage", {"panel": "wing", "side": "left"}),
    ("rear wing right", "damage", {"panel": "quarter", "side": "right"}),
    ("left rocker panel", "damage", {"panel": "sill", "side": "left"}),
    ("left cant rail", "damage", {"panel": "roof-rail", "side": "left"}),
    ("right b pillar", "damage", {"panel": "pillar-b", "side": "right"}),
    ("front bumper", "damage", {"panel": "bumper", "end": "front"}),
    ("left sliding door", "damage", {"panel": "sliding-door", "side": "left"}),
    ("right bed side", "damage", {"panel": "bed-side", "side": "right"}),
    ("fuel flap", "damage", {"panel": "fuel-flap"}),
    ("nearside front door", "damage", {"panel": "door", "side": "left", "end": "front"}),
    ("roof high strength steel", "damage", {"panel": "roof", "material": "high-strength-steel"}),
    ("roof aluminum", "damage", {"panel": "roof", "material": "aluminium"}),
    ("roof composite", "damage", {"panel": "roof", "material": "composite"}),
    ("roof one ten mil", "damage", {"panel": "roof", "length_mm": 110}),
    ("roof one hundred and ten", "damage", {"panel": "roof", "length_mm": 110}),
    ("roof one one zero", "damage", {"panel": "roof", "length_mm": 110}),
    ("roof forty five by thirty mil", "damage", {"panel": "roof", "length_mm": 45, "width_mm": 30}),
    ("roof four and a half inches", "damage", {"panel": "roof", "length_mm": 114.3}),
    ("roof three quarters of an inch", "damage", {"panel": "roof", "length_mm": 19.05}),
    ("roof ten pence size", "damage", {"panel": "roof", "length_mm": 24.5}),
    ("roof quarter dollar size", "damage", {"panel": "roof", "length_mm": 24.26}),
    ("roof twenty two dents", "damage", {"panel": "roof", "count": 22}),
    ("roof bowl deep", "damage", {"panel": "roof", "shape": "bowl", "depth": "deep"}),
    ("roof crown", "damage", {"panel": "roof", "shape": "high"}),
    ("roof swage line", "damage", {"panel": "roof", "features": ["body-line"]}),
    ("roof behind a brace", "damage", {"panel": "roof", "features": ["brace"]}),
    ("roof paint broken", "damage", {"panel": "roof", "features": ["paint-broken"]}),
    ("roof limited access", "damage", {"panel": "roof", "access": "limited"}),
    (
        "roof trim off head lining",
        "damage",
        {"panel": "roof", "access": "trim-off", "take_off": ["head-lining"]},
    ),
    ("roof glue pull", "damage", {"panel": "roof", "method": "glue-pull"}),
    ("paint one four two", "reading", {"paint_um": 142}),
    ("reference one three eight", "reading", {"reference_um": 138}),
    ("paint five mils", "reading", {"paint_um": 127}),
    ("clean", "step", {"step": "clean"}),
    ("pull three twenty mil crease tab", "step", {"step": "pull", "pulls": 3, "tab_mm": 20, "tab": "crease"}),
    ("check lines from the left", "step", {"step": "check-lines", "direction": ["left"]}),
    ("start work", "time", {"time": "start"}),
    ("pause", "time", {"time": "pause"}),
    ("new job", "job", {"job": "new"}),
    ("plate alfa bravo one two charlie delta echo", "job", {"plate": "AB12CDE"}),
    ("customer told crease may show", "told", {"risk": ["crease-may-show"]}),
    ("job finished", "job", {"job": "finished"}),
    ("close the day", "job", {"job": "close-day"}),
    ("correct length fifty mil", "correction", {"length_mm": 50}),
    ("go to dent one", "correction", {"go_to": 1}),
    ("remove dent one", "correction", {"remove": 1}),
    ("scratch that", "undo", {"undo": "last"}),
    ("yes", "answer", {"answer": "yes"}),
    ("read back", "question", {"question": "read-back"}),
    ("price", "question", {"question": "price"}),
    ("total", "question", {"question": "total"}),
    ("time", "question", {"question": "time"}),
    ("what is missing", "question", {"question": "missing"}),
    ("stop listening", "control", {"control": "sleep"}),
    ("louder", "control", {"control": "louder"}),
    ("memo", "control", {"control": "memo"}),
    ("photo", "control", {"control": "photo"}),
]


@pytest.mark.parametrize(("words", "kind", "slots"), ROWS, ids=[row[0] for row in ROWS])
def test_every_row_of_the_spoken_language(run: Run, words: str, kind: str, slots: dict[str, Any]) -> None:
    *_, found = said(run, "new job", "front left door thirty five mil", words)
    assert found["kind"] == kind
    assert {name: found["slots"].get(name) for name in slots} == slots


def test_one_object_a_line_with_the_fields_of_the_contract(run: Run) -> None:
    found = said(run, "rear right door steel forty five mil shallow push")[0]
    assert found["utterance"] == 1
    assert found["words"] == "rear right door steel forty five mil shallow push"
    assert found["slots"] == {
        "end": "rear", "side": "right", "panel": "door", "material": "steel",
        "length_mm": 45, "depth": "shallow", "method": "push",
    }  # fmt: skip
    assert found["decision"] == "accepted"
    assert found["question"] is None
    assert isinstance(found["answer"], str)
    assert found["alternatives"] == []
    assert {"source", "start_s", "end_s", "confidence", "kind"} <= set(found)


def test_numbers_go_on_over_several_calls(run: Run) -> None:
    assert [item["utterance"] for item in said(run, "new job", "roof ten mil")] == [1, 2]
    assert [item["utterance"] for item in said(run, "bonnet ten mil")] == [3]


def test_price_json_has_jobs_damages_lines_and_total(run: Run) -> None:
    said(run, "roof ten mil shallow", "bonnet twenty mil")
    ran = run("price", "--json", "--log", "j.db", "--card", CARD)
    (job,) = json.loads(ran.out)["jobs"]
    assert [damage["slots"]["panel"] for damage in job["damages"]] == ["roof", "bonnet"]
    assert set(job["total"]) == {"low", "high", "currency", "confirmed"}
    assert job["total"]["currency"] == "GBP"
    assert job["lines"]


def test_explain_names_the_table_points(run: Run) -> None:
    said(run, "roof fifteen mil shallow")
    text = run("price", "--explain", "--log", "j.db", "--card", CARD).out
    assert "10 mm" in text
    assert "20 mm" in text


def test_papers_are_written_and_a_second_time_left_alone(run: Run, tmp_path: Path) -> None:
    said(run, "new job plate alfa bravo two six kilo lima mike", "roof ten mil shallow")
    first = json.loads(run("papers", "--json", "--log", "j.db", "--card", CARD, "--out", "out").out)["papers"]
    assert {Path(name).suffix for name in first} == {".html", ".pdf", ".csv", ".json", ".xlsx"}
    assert "(replaced)" not in run("papers", "--log", "j.db", "--card", CARD, "--out", "out").out


def test_verify_backup_restore_export_import(run: Run, tmp_path: Path) -> None:
    said(run, "roof ten mil", "bonnet ten mil")
    assert run("verify", "--log", "j.db").status == 0
    assert run("backup", "copy.db", "--log", "j.db").status == 0
    said(run, "scratch that")
    assert run("restore", "copy.db", "--log", "j.db").status == 0
    assert len(json.loads(run("price", "--json", "--log", "j.db").out)["jobs"][0]["damages"]) == 2
    assert run("export-journal", "day.jsonl", "--log", "j.db").status == 0
    assert run("import-journal", "day.jsonl", "--log", "other.db").status == 0
    prices = [run("price", "--json", "--log", log, "--card", CARD).out for log in ("j.db", "other.db")]
    assert prices[0] == prices[1]


def test_forget_takes_the_plate_and_leaves_the_figures(run: Run) -> None:
    said(run, "new job plate alfa bravo two six kilo lima mike", "roof ten mil")
    before = json.loads(run("price", "--json", "--log", "j.db").out)["jobs"][0]
    assert run("forget", "AB26KLM", "--yes", "--log", "j.db").status == 0
    after = json.loads(run("price", "--json", "--log", "j.db").out)["jobs"][0]
    assert "AB26KLM" in before["title"]
    assert "AB26KLM" not in after["title"]
    assert after["total"] == before["total"]
    assert run("verify", "--log", "j.db").status == 0


def test_sheet_prints_the_card(run: Run, tmp_path: Path) -> None:
    assert "thousandth of an inch" in run("sheet").out
    assert run("sheet", "--out", "card.html").status == 0
    assert run("sheet", "--out", "card.pdf").status == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_every_command_of_the_readme_is_there_and_the_other_way_round(run: Run) -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    listed = [
        line.split()[0]
        for line in run("--help").out.partition("Commands:")[2].splitlines()
        if line.startswith("  ") and line[2] != " "
    ]
    assert len(listed) > 15
    missing = [name for name in listed if f"`voicelog {name}" not in readme and f"`{name}`" not in readme]
    assert missing == []


def test_every_command_of_every_module_can_be_called_and_is_in_the_help() -> None:
    for module in set(COMMANDS.values()):
        part = typer.Typer(rich_markup_mode=None)
        import_module(f"voicelog.cli.{module}").register(part)
        named = set(typer.main.get_group(part).commands)
        assert named == {name for name, home in COMMANDS.items() if home == module}


@pytest.mark.parametrize("arguments", [(), ("card",), ("-h",), ("--help",), ("price", "-h")])
def test_who_gives_no_command_or_asks_gets_the_help(run: Run, arguments: tuple[str, ...]) -> None:
    ran = run(*arguments)
    assert ran.status == 0
    assert ran.out.startswith("Usage: ")


@pytest.mark.parametrize("line", [line for lines in EXAMPLES.values() for line in lines])
def test_the_examples_of_the_help_are_words_that_their_command_takes(run: Run, line: str) -> None:
    words = shlex.split(line.partition(" > ")[0].partition(" < ")[0])
    command = typer.main.get_command(app)
    context = command.make_context("voicelog", [words[0]], resilient_parsing=True)
    command = command.get_command(context, words.pop(0))  # type: ignore[attr-defined]
    if isinstance(command, TyperGroup) and words:
        command = command.commands[words.pop(0)]
    command.make_context(command.name, words, parent=context)  # raises for words that it does not take
    assert f"voicelog {line}" in run(line.split()[0], "--help").out


def test_every_command_has_an_example() -> None:
    assert set(EXAMPLES) == set(COMMANDS)


def test_a_console_without_the_marks_gets_plain_ones(run: Run) -> None:
    said = [sys.executable, "-m", "voicelog", "say", "new job", "--log", "plain.db"]
    ran = subprocess.run(said, capture_output=True, env={**os.environ, "PYTHONIOENCODING": "cp1252"})
    assert ran.stdout.decode("cp1252").splitlines() == ["   1 + new job", "       > new job"]
