"""Names that are markup, formulas, right-to-left text, emoji, paths or far too long do no harm."""

from __future__ import annotations

import csv
import json
import re
import shutil
import stat
import subprocess
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from invented_day import NOW, Tape

from voicelog.errors import VoicelogError
from voicelog.estimate.card.model import Card
from voicelog.files import name_part, write_atomically
from voicelog.journal import events as ev
from voicelog.papers import FORMATS, Letterhead, write_papers
from voicelog.papers.text import FORMULA_STARTS, cell_text, clean, isolated

openpyxl = pytest.importorskip("openpyxl", reason="needs openpyxl to read workbooks")

NASTY = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&amp;",
    "template": "{{ 7*7 }}{% for x in y %}",
    "typesetting": '#panic("x") *bold* _under_ $x$ <label> @label [a] `raw` \\u{41} // gone /* a */ = b',
    "formula": "=cmd|' /C calc'!A0",
    "at": "@SUM(1+1)*cmd",
    "plus": "+44 1632 960123",
    "minus": "-2+3",
    "tab": "\t=1+1",
    "controls": "a\x00b\x07c\x1b[31md\x85e\u2028f",
    "right-to-left": "محمد עברית Ada",
    "override": "Ada \u202egpj.exe\u202c",
    "emoji": "🚗 Ada 👩🏽\u200d🔧 é",
    "long": "X" * 300,
    "words": "very " * 60,
    "path": "../../etc/passwd",
    "windows": "C:\\CON\\..\\nul:",
    "surrogate": "Ada \ud83d broken",
    "nonchar": "Ada \ufffe\uffff",
    "cjk": "車の凹み",
}


def nasty_day(text: str) -> Tape:
    """A job whose every free text is `text`."""
    tape = Tape().job(
        1, plate=text, vin=text, customer=text, address=text, vehicle=text, notes=text, email=text, phone=text
    )  # fmt: skip
    return tape.dent(1, panel="roof", material="steel", length_mm=20)


def write(tape: Tape, card: Card, letterhead: Letterhead, folder: Path, text: str, **more: Any) -> list[Path]:
    heard = ev.Heard(1, text, 0.0, 1.0, text, 0.5, "rejected", "none", answer=text, reason=text)
    return write_papers(tape.state(), card, letterhead, folder, heards=[heard], now=NOW, **more)


class Page(HTMLParser):
    """Tags and attributes that could do something."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.handlers: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.handlers += [name for name, _ in attrs if name.startswith("on")]
        self.handlers += [
            value or "" for name, value in attrs if name in ("href", "src") and "data:" not in str(value)
        ]


@pytest.mark.parametrize("kind", NASTY)
def test_no_text_does_harm(kind: str, tmp_path: Path, card: Card) -> None:
    text = NASTY[kind]
    folder = tmp_path / "out"
    letterhead = Letterhead(name=text, address=(text,), phone=text, tax_number=text, payment_terms=text)
    paths = write(nasty_day(text), card, letterhead, folder, text)
    assert {path.suffix.lstrip(".") for path in paths} == set(FORMATS)
    assert [path for path in tmp_path.rglob("*") if path.is_file() and path.parent != folder] == []
    for path in paths:
        assert re.fullmatch(r"[A-Za-z0-9.-]{1,80}", path.name)
        data = path.read_bytes()
        if path.suffix == ".html":
            page = Page()
            page.feed(data.decode("utf-8"))
            assert page.handlers == []
            assert not page.tags & {"script", "iframe", "object", "img", "form", "a"}
            assert "\u202e" not in data.decode("utf-8")
        elif path.suffix == ".csv":
            for line in csv.reader(data.decode("utf-8").splitlines()):
                for item in line:
                    assert not item.startswith(FORMULA_STARTS) or re.fullmatch(r"-?\d+(\.\d+)?", item)
                    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\x80-\x9f]", item)
        elif path.suffix == ".json":
            json.loads(data)
        elif path.suffix == ".xlsx":
            cells = [c for sheet in openpyxl.load_workbook(path) for line in sheet.iter_rows() for c in line]
            assert all(c.data_type in "snbd" and c.hyperlink is None for c in cells)
            assert all(c.quotePrefix for c in cells if str(c.value).startswith(FORMULA_STARTS))


@pytest.mark.parametrize("kind", ["long", "words"])
def test_long_names_are_whole_and_inside_the_page(kind: str, tmp_path: Path, card: Card) -> None:
    if shutil.which("pdftotext") is None:
        pytest.skip("needs pdftotext (poppler-utils)")
    text = NASTY[kind]
    write(nasty_day(text), card, Letterhead(name=text), tmp_path, text, which=("estimate",), formats=("pdf",))
    (path,) = tmp_path.glob("*.pdf")
    found = subprocess.run(
        ["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    width = float(re.findall(r'<page width="([\d.]+)"', found)[0])
    rights = [float(edge) for edge in re.findall(r'xMax="([\d.]+)"', found)]
    assert max(rights) < width - 30
    plain = subprocess.run(
        ["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    assert re.sub(r"\s", "", text) in re.sub(r"\s", "", plain)


def test_right_to_left_text_is_shaped_and_read_in_order(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    """Poppler turns what is drawn from right to left back into words in the order of reading."""
    tape = Tape().job(1, customer="שלום עולם").dent(1, panel="roof", length_mm=20)
    write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), formats=("pdf",), now=NOW)
    (path,) = tmp_path.glob("*.pdf")
    if shutil.which("pdftotext") is None:
        pytest.skip("needs pdftotext (poppler-utils)")
    command = ["pdftotext", "-raw", str(path), "-"]
    found = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert {"שלום", "עולם"} <= set(re.sub("[\u202a-\u202e\u2066-\u2069]", "", found).split())


@pytest.mark.parametrize("kind", ["markup", "template", "typesetting", "path", "formula"])
def test_text_is_no_markup_of_the_pdf(kind: str, tmp_path: Path, card: Card) -> None:
    """What was written stands on the page letter by letter, as poppler reads it."""
    if shutil.which("pdftotext") is None:
        pytest.skip("needs pdftotext (poppler-utils)")
    text = NASTY[kind]
    write(nasty_day(text), card, Letterhead(name=text), tmp_path, text, which=("estimate",), formats=("pdf",))
    (path,) = tmp_path.glob("*.pdf")
    command = ["pdftotext", "-raw", str(path), "-"]
    found = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert re.sub(r"\s", "", found).count(re.sub(r"\s", "", text)) >= 3


def test_letters_that_no_font_has_are_named(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    """U+10FFFD is for private use (Unicode 15, section 23.5): no font of a system draws it."""
    tape = Tape().job(1, customer="Ada \U0010fffd").dent(1, panel="roof", length_mm=20)
    made = write_papers(tape.state(), card, letterhead, tmp_path, which=("estimate",), now=NOW)
    (path,) = tmp_path.glob("*.pdf")
    (remark,) = made.remarks
    assert remark.startswith(path.name)
    assert "\U0010fffd" in remark
    sound = Tape().job(1, customer="Ada Ωж").dent(1, panel="roof", length_mm=20)
    assert write_papers(sound.state(), card, letterhead, tmp_path, which=("estimate",), now=NOW).remarks == []


def test_without_typst_the_papers_are_html_and_a_line_says_so(
    tmp_path: Path, card: Card, letterhead: Letterhead, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("voicelog.papers.write.can_typeset", lambda: False)
    made = write_papers(nasty_day("Ada").state(), card, letterhead, tmp_path, which=("estimate",), now=NOW)
    assert [path.suffix for path in made] == [".html"]
    assert [remark for remark in made.remarks if "typst" in remark] == made.remarks
    assert len(made.remarks) == 1


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_cells_are_never_formulas_and_clean_text_is_one_line(text: str) -> None:
    cell = cell_text(text)
    assert not cell.startswith(FORMULA_STARTS)
    assert not re.search(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e]", cell)
    assert clean(clean(text)) == clean(text)
    isolated(text).encode("utf-8")


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80))
def test_a_name_part_is_safe_on_every_system(text: str) -> None:
    assert re.fullmatch(r"[A-Za-z0-9-]{0,24}", name_part(text))


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=200))
def test_any_text_at_all_can_be_written(tmp_path: Path, card: Card, text: str) -> None:
    write(nasty_day(text), card, Letterhead(name=text), tmp_path, text, which=("invoice",))


def test_replacing_is_said_and_the_same_bytes_are_left_alone(
    tmp_path: Path, card: Card, letterhead: Letterhead
) -> None:
    told: list[str] = []
    tape = nasty_day("Ada")
    first = write_papers(tape.state(), card, letterhead, tmp_path, now=NOW)
    assert (first.replaced, first.unchanged) == ([], [])
    again = write_papers(tape.state(), card, letterhead, tmp_path, now=NOW)
    assert again.replaced == []
    assert again.unchanged == list(first)
    tape.dent(2, panel="bonnet", length_mm=30)
    third = write_papers(
        tape.state(), card, letterhead, tmp_path, now=NOW, progress=lambda done, of, what: told.append(what)
    )
    assert tmp_path / "2026-03-02-Ada-job-0001-estimate.html" in third.replaced
    assert "replaced 2026-03-02-Ada-job-0001-estimate.html" in told
    assert tmp_path / "data-dictionary.csv" in third.unchanged


def test_a_write_that_fails_leaves_the_old_file_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "paper.html"
    write_atomically(path, b"old")

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(VoicelogError, match=r"cannot be written \(No space left on device\)"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_files_are_ordinary_files(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a", b"x")
    (tmp_path / "b").write_bytes(b"x")
    modes = [stat.S_IMODE((tmp_path / name).stat().st_mode) for name in "ab"]
    assert modes[0] == modes[1]


def test_a_folder_that_cannot_be_ends_in_one_line(tmp_path: Path, card: Card, letterhead: Letterhead) -> None:
    (tmp_path / "file").write_text("not a folder")
    with pytest.raises(VoicelogError) as caught:
        write_papers(nasty_day("Ada").state(), card, letterhead, tmp_path / "file" / "out", now=NOW)
    assert "\n" not in caught.value.line()


@pytest.mark.parametrize(
    ("more", "said"),
    [({"which": ("receipt",)}, "unknown paper receipt"), ({"formats": ("docx",)}, "unknown format docx")],
)
def test_unknown_names_say_what_there_is(
    tmp_path: Path, card: Card, letterhead: Letterhead, more: dict[str, Any], said: str
) -> None:
    with pytest.raises(VoicelogError, match=said):
        write_papers(nasty_day("Ada").state(), card, letterhead, tmp_path, now=NOW, **more)
