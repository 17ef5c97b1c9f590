"""The whole formula a third time, as spreadsheet formulas worked out by LibreOffice.

One sheet a job, one row a dent (a count is that many rows).  The sheet looks the base up,
ranks the dents of each panel, shares, rounds, caps, adds parts and charges up to the total.
"""

from __future__ import annotations

import random
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from tests.estimate.drawing import job_of
from voicelog.estimate.card import Card, load_card
from voicelog.estimate.pricing.price import price_job

CARD = load_card(Path(__file__).parents[2] / "demo" / "rate-card.toml")
OFFICE = shutil.which("soffice") or shutil.which("libreoffice")
PANELS = ["roof", "bonnet", "tailgate", "boot-lid"]
JOBS = 12


def drawn(seed: int) -> list[dict[str, Any]]:
    """A random job with settled values that are all priced."""
    chance = random.Random(seed)
    dents = []
    for _ in range(chance.randint(1, 8)):
        length = chance.randint(5, 250)
        dents.append({
            "panel": chance.choice(PANELS[: chance.randint(1, 4)]),
            "length_mm": length,
            "width_mm": chance.choice([None, chance.randint(1, length)]),
            "count": chance.choice([1, 1, 2, 15]),
            "material": chance.choice(["steel", "aluminium"]),
            "shape": chance.choice(["round", "crease", "bowl", "sharp"]),
            "depth": chance.choice(["shallow", "medium", "deep"]),
            "features": chance.choice([None, ("brace",), ("body-line", "edge")]),
            "method": chance.choice(["push", "glue-pull"]),
            "take_off": chance.choice([None, ("liner",), ("liner", "tail-light")]),
        })  # fmt: skip
    return dents


def write(sheet: Worksheet, dents: list[dict[str, Any]], card: Card, discount: int) -> None:
    """A job as a sheet; only the card's entries and the dents are values, all else is a formula."""
    for row, (mm, minutes) in enumerate(card.points, 1):
        sheet[f"M{row}"], sheet[f"N{row}"] = float(mm), float(minutes)
    singles = [dent for dent in dents for _ in range(dent["count"])]
    last = len(singles)
    for row, dent in enumerate(singles, 1):
        found = [card.adders[slot][value] for slot in ("material", "shape", "depth", "features", "method")
                 for value in _list(dent[slot]) if value in card.adders[slot]]  # fmt: skip
        width = dent["width_mm"] or 0
        sheet[f"A{row}"], sheet[f"B{row}"], sheet[f"C{row}"] = dent["panel"], dent["length_mm"], width
        sheet[f"D{row}"] = (
            "="
            + "+".join(["0", *(str(adder.percent) for adder in found)])
            + (
                f"+IF(C{row}/B{row}*100>{card.width.over_percent},{card.width.adder.percent},0)"
                if card.width
                else ""
            )
        )
        sheet[f"E{row}"] = "=" + "+".join(["0", *(str(adder.minutes) for adder in found)])
        at = f"MATCH(B{row},M$1:M${len(card.points)},1)"
        left, right = f"INDEX(M:M,{at})", f"INDEX(M:M,{at}+1)"
        low, high = f"INDEX(N:N,{at})", f"INDEX(N:N,{at}+1)"
        line = f"{low}+IF(B{row}={left},0,({high}-{low})*(B{row}-{left})/({right}-{left}))"
        sheet[f"F{row}"] = f"=IF(B{row}<M$1,N$1,{line})"
        sheet[f"G{row}"] = f"=F{row}*(1+D{row}/100)+E{row}"
        # The place on the panel: dents with more minutes, and equal ones in rows above.
        more = f"SUMPRODUCT((A$1:A${last}=A{row})*(G$1:G${last}-G{row}>0.000001))"
        equal = f"SUMPRODUCT((A$1:A{row}=A{row})*(ABS(G$1:G{row}-G{row})<=0.000001))"
        sheet[f"H{row}"] = f"={more}+{equal}"
        several = card.several
        sheet[f"I{row}"] = (
            f"=IF(H{row}=1,100,IF(H{row}=2,{several.second_percent},{several.further_percent}))"
        )
        sheet[f"J{row}"] = f"=ROUND(G{row}*I{row}/100*{card.hourly_rate}/60,2)"
    for row, panel in enumerate(PANELS, 1):
        cap = card.several.cap_by_panel.get(panel, card.several.cap_minutes)
        sheet[f"P{row}"] = panel
        sheet[f"Q{row}"] = (
            f"=MIN(SUMIF(A$1:A${last},P{row},J$1:J${last}),ROUND({cap}*{card.hourly_rate}/60,2))"
        )
    items = sorted({item for dent in dents for item in _list(dent["take_off"])})
    for row in range(2):
        minutes = card.take_off[items[row]] if row < len(items) else Decimal(0)
        sheet[f"R{row + 1}"] = f"=ROUND({minutes}*{card.hourly_rate}/60,2)"
    sheet["S1"] = f"=MAX(SUM(Q1:Q4)+SUM(R1:R2),{card.charges.minimum})+{card.charges.call_out}"
    sheet["S2"] = f"=S1-ROUND(S1*MIN({discount},{card.charges.max_discount_percent})/100,2)"
    sheet["S3"] = f"=S2+ROUND(S2*{card.tax.percent}/100,2)"


def _list(value: Any) -> tuple[str, ...]:
    return () if value is None else value if isinstance(value, tuple) else (value,)


@pytest.mark.skipif(
    OFFICE is None, reason="LibreOffice is not installed: no second program to work formulas out"
)
def test_a_spreadsheet_comes_to_the_same_totals(tmp_path: Path) -> None:
    book = Workbook()
    book.remove(book.worksheets[0])
    for seed in range(JOBS):
        write(book.create_sheet(f"job{seed}"), drawn(seed), CARD, discount=seed)
    source = tmp_path / "jobs.xlsx"
    book.save(source)
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    target = tmp_path / "out"
    subprocess.run(
        [str(OFFICE), profile, "--headless", "--convert-to", "xlsx", "--outdir", str(target), str(source)],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    worked = load_workbook(target / "jobs.xlsx", data_only=True)
    for seed in range(JOBS):
        total = Decimal(repr(worked[f"job{seed}"]["S3"].value)).quantize(Decimal("0.01"))
        dents = [{slot: [value] for slot, value in dent.items() if value is not None} for dent in drawn(seed)]
        estimate = price_job(job_of(dents, discount=seed), CARD)
        assert estimate.total.low == estimate.total.high == total, seed
