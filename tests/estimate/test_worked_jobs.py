"""The ten jobs worked by hand in demo/worked-jobs: the arithmetic holds, and the program agrees."""

from __future__ import annotations

import ast
import operator
import re
import tomllib
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from tests.estimate.making import dent, job, reading
from tests.estimate.plain_price import half_up
from voicelog.estimate.card import load_card
from voicelog.estimate.estimate import Estimate, Line
from voicelog.estimate.pricing.price import price_job
from voicelog.jobs.records import Job

DEMO = Path(__file__).parents[2] / "demo"
JOBS = sorted((DEMO / "worked-jobs").glob("[0-9]*.md"))
OPERATORS: dict[type, Callable[[Fraction, Fraction], Fraction]] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
}  # fmt: skip


def test_there_are_eleven() -> None:
    assert len(JOBS) == 11


def value(text: str) -> Fraction:
    """What an arithmetic expression comes to, exactly."""
    plain = text.strip().replace("×", "*")
    return _value(ast.parse(plain, mode="eval").body, plain)


def _value(node: ast.expr, text: str) -> Fraction:
    match node:
        case ast.BinOp(left=left, op=op, right=right):
            return OPERATORS[type(op)](_value(left, text), _value(right, text))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_value(operand, text)
        case ast.Constant():
            return Fraction(ast.get_source_segment(text, node) or "")
    raise ValueError(f"no arithmetic: {text}")


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_arithmetic_holds(path: Path) -> None:
    by_hand = path.read_text(encoding="utf-8").split("## By hand")[1].split("## Lines")[0]
    equations = re.findall(r"`([^`]+)`", by_hand)
    assert len(equations) >= 3
    for equation in equations:
        if "→" in equation:
            left, right = equation.split("→")
            assert half_up(value(left), 2) == value(right), equation
        else:
            left, right = equation.split("=")
            assert value(left) == value(right), equation


def noted(path: Path) -> Job:
    """The job of a worked file."""
    block = re.search(r"```toml\n(.*?)```", path.read_text(encoding="utf-8"), re.DOTALL)
    assert block
    data = tomllib.loads(block[1], parse_float=Decimal)
    references = [reading("reference", um) for um in data.pop("reference_um", ())]
    dents = []
    for number, slots in enumerate(data.pop("dent"), 1):
        readings = [reading("dent", um) for um in slots.pop("paint_um", ())]
        dents.append(
            dent(number, **{"material": None, **{slot: _slot(said) for slot, said in slots.items()}})
        )
        dents[-1].readings = readings
    return job(*dents, references=references, **data)


def _slot(said: Any) -> Any:
    if isinstance(said, dict):
        return [said["value"], *said["or"]]
    return tuple(said) if isinstance(said, list) else said


def shown(estimate: Estimate) -> list[tuple[str, str, str]]:
    """The lines of an estimate as the worked files show them."""
    rows = [_row(line) for line in estimate.lines]
    for name in ("net", "total"):
        figure = getattr(estimate, name)
        rows.append((name, f"{figure.low}", f"{figure.high}"))
    return rows


def _row(line: Line) -> tuple[str, str, str]:
    name = {
        "dent": f"dent {line.dents[0] if line.dents else ''}",
        "refusal": f"refusal {line.dents[0] if line.dents else ''} {line.cause}",
        "advice": f"advice {line.cause}",
        "cap": f"cap {line.place[0] if line.place else ''}",
        "take-off": f"take-off {line.entries[0].key if line.entries else ''}",
    }.get(line.kind, line.kind)
    if line.amount is None:
        return (name, "none", "none")
    return (name, f"{line.amount.low}", f"{line.amount.high}")


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_program_agrees_line_by_line(path: Path) -> None:
    table = path.read_text(encoding="utf-8").split("## Lines")[1]
    rows = [
        tuple(cell.strip() for cell in row.strip("| ").split("|")) for row in table.strip().splitlines()[2:]
    ]
    assert shown(price_job(noted(path), load_card(DEMO / "rate-card.toml"))) == rows
