"""HTML papers under axe-core (Deque) in headless Chromium; PDF tags as poppler reads them.

axe-core comes from the npm registry (`npm install axe-core`); its file is found in
`node_modules` or named by the variable AXE_CORE.  Both checks are skipped where the
programs are absent.
"""

from __future__ import annotations

import html
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from invented_day import HEARDS, NOW

from voicelog.estimate.card.model import Card
from voicelog.jobs.records import State
from voicelog.papers import Letterhead, write_papers

ROOT = Path(__file__).parents[2]
AXE = Path(os.environ.get("AXE_CORE") or ROOT / "node_modules" / "axe-core" / "axe.min.js")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PDFINFO = shutil.which("pdfinfo")
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

needs_axe = pytest.mark.skipif(
    CHROMIUM is None or not AXE.is_file(),
    reason="needs Chromium and axe-core (npm install axe-core, or AXE_CORE)",
)
needs_poppler = pytest.mark.skipif(PDFINFO is None, reason="needs pdfinfo (poppler-utils)")


def axe(page: Path, folder: Path) -> dict[str, Any]:
    """What axe finds on a page: the page runs it on itself and leaves the result in its markup."""
    run = (
        f"axe.run(document, {{runOnly: {json.dumps(RULES)}}}).then(found => {{"
        "const out = document.createElement('pre'); out.id = 'axe';"
        "out.textContent = JSON.stringify({violations: found.violations, passes: found.passes.length});"
        "document.body.replaceChildren(out);});"
    )
    script = f"<script>{AXE.read_text(encoding='utf-8')}</script><script>{run}</script>"
    copy = folder / "axe.html"
    copy.write_text(page.read_text(encoding="utf-8").replace("</body>", script + "</body>"), encoding="utf-8")
    command = [
        str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
        f"--user-data-dir={folder / 'profile'}", "--virtual-time-budget=20000", "--dump-dom", copy.as_uri(),
    ]  # fmt: skip
    dom = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True).stdout
    found = re.search(r'<pre id="axe">(.*?)</pre>', dom, re.DOTALL)
    assert found is not None, "axe left no result"
    result: dict[str, Any] = json.loads(html.unescape(found[1]))
    return result


@needs_axe
def test_axe_itself_finds_what_is_wrong(tmp_path: Path) -> None:
    """The check can fail: a page without language, title and alternative text."""
    page = tmp_path / "bad.html"
    page.write_text("<!DOCTYPE html><html><body><img src='x.png'></body></html>", encoding="utf-8")
    rules = {item["id"] for item in axe(page, tmp_path)["violations"]}
    assert {"html-has-lang", "document-title", "image-alt"} <= rules


@needs_axe
@pytest.mark.parametrize(
    "name",
    [
        "2026-03-02-VL26DNT-job-0001-quote-QUO-0001-1",
        "2026-03-02-VL26DNT-job-0001-work-record",
        "2026-03-02-AB12CDE-job-0002-draft-invoice",
        "day-log-2026-03-02",
    ],
)
def test_html_papers_pass_axe(
    name: str, tmp_path: Path, day: State, card: Card, letterhead: Letterhead
) -> None:
    write_papers(day, card, letterhead, tmp_path, heards=HEARDS, formats=("html",), now=NOW)
    found = axe(tmp_path / f"{name}.html", tmp_path)
    assert [(item["id"], [node["html"] for node in item["nodes"]]) for item in found["violations"]] == []
    assert found["passes"] >= 15


@needs_poppler
def test_pdf_is_tagged_with_title_language_and_structure(
    tmp_path: Path, day: State, card: Card, letterhead: Letterhead
) -> None:
    write_papers(day, card, letterhead, tmp_path, which=("work-record",), formats=("pdf",), now=NOW)
    path = tmp_path / "2026-03-02-VL26DNT-job-0001-work-record.pdf"
    told = subprocess.run([str(PDFINFO), str(path)], capture_output=True, text=True, check=True).stdout
    assert re.search(r"^Title: +Work record WR-0001$", told, re.MULTILINE)
    assert re.search(r"^Tagged: +yes$", told, re.MULTILINE)
    data = path.read_bytes()
    assert b"/Lang(en-GB)" in data
    assert b"/DisplayDocTitle true" in data
    assert b"<pdfuaid:part>1</pdfuaid:part>" in data
    text = subprocess.run([str(PDFINFO), "-struct-text", str(path)], capture_output=True, text=True).stdout
    kinds = re.findall(r"^ *([A-Z][A-Za-z0-9]*)", text, re.MULTILINE)
    assert {"Document", "H1", "H2", "P", "Table", "TR", "TH", "TD", "Figure", "THead", "TBody"} <= set(kinds)
    assert "/Scope /Column" in text
    plan = "Panel plan. 1: rear right door; 2: left wing; 3: front bumper"
    assert f"/Alt({plan}".encode() in data
