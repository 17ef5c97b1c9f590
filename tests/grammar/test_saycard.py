"""The say-card shows what the grammar lets be said, and fits on a page.

Outside references: pdfinfo of poppler counts the pages, pdftotext finds the lines, headless Chromium prints
the HTML; the checks are skipped where the programs are absent.
"""

from __future__ import annotations

import html
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from writing import Write

from voicelog.errors import VoicelogError
from voicelog.grammar import Grammar, load_grammar
from voicelog.grammar.saycard import HIDDEN, SayCard, SayGroup, say_card
from voicelog.grammar.tree import Choice, Expansion, Repeat, Sequence, Tagged
from voicelog.papers.layout.say_card import card_html, write_say_card
from voicelog.vocabulary import CHOICES

GRAMMARS = Path(__file__).parents[2] / "grammars"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PDFINFO, PDFTOTEXT = shutil.which("pdfinfo"), shutil.which("pdftotext")
PAGE_WIDTH_PT = 595.28
"""A4, ISO 216: 210 mm."""
needs_poppler = pytest.mark.skipif(PDFINFO is None, reason="needs pdfinfo (poppler-utils)")
needs_pdftotext = pytest.mark.skipif(PDFTOTEXT is None, reason="needs pdftotext (poppler-utils)")
needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium")


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return load_grammar(GRAMMARS / "voicelog.jsgf")


@pytest.fixture(scope="module")
def card(grammar: Grammar) -> SayCard:
    return say_card(grammar)


def tags_of(part: Expansion) -> Iterator[str]:
    """Every tag written in a part."""
    match part:
        case Tagged(inner, tags):
            yield from tags
            yield from tags_of(inner)
        case Sequence(parts):
            for item in parts:
                yield from tags_of(item)
        case Choice(branches):
            for branch in branches:
                yield from tags_of(branch.part)
        case Repeat(inner):
            yield from tags_of(inner)
        case _:
            return


def tagged(grammar: Grammar) -> set[tuple[str, str]]:
    """Slot and value of every tag of the grammar."""
    found = (tag.partition("=") for rule in grammar.rules.values() for tag in tags_of(rule.part))
    return {(slot.strip(), value.strip()) for slot, _, value in found if value}


def test_every_value_of_the_vocabulary_that_can_be_said_is_on_the_card(
    grammar: Grammar, card: SayCard
) -> None:
    known = {(slot, value) for slot, values in CHOICES.items() for value in values}
    hidden = {name for name, rule in grammar.rules.items() if rule.doc.startswith(HIDDEN)}
    sayable = (
        tagged(replace(grammar, rules={n: r for n, r in grammar.rules.items() if n not in hidden})) & known
    )
    shown = {(entry.slot, entry.value) for group in card.groups for entry in group.entries if entry.forms}
    assert len(sayable) > 100
    assert sayable - shown == set()


def test_every_word_on_the_card_is_a_word_of_the_grammar(grammar: Grammar, card: SayCard) -> None:
    said = {
        word
        for group in card.groups
        for entry in group.entries
        for form in entry.forms
        for word in form.split()
    }
    assert said - grammar.network().words() == {"…"}


def test_what_the_examples_say_is_understood_word_by_word(grammar: Grammar, card: SayCard) -> None:
    quoted = [text for group in card.groups for text in re.findall(r'"([^"]+)"', group.examples)]
    words = {word for text in quoted for word in re.findall(r"[\w']+", text)}
    assert len(quoted) > 10
    assert words - grammar.network().words() == set()


def test_forms_of_a_panel_can_be_said_as_they_stand(grammar: Grammar, card: SayCard) -> None:
    (group,) = [group for group in card.groups if group.title == "Panel"]
    network = grammar.network("panels.panel")
    forms = [(entry.value, form) for entry in group.entries for form in entry.forms]
    assert len(forms) > 30
    for value, form in forms:
        assert f"panel={value}" in [tag.text for parse in network.match(form) for tag in parse.tags()], form


def test_a_word_added_to_a_grammar_file_is_on_the_card(tmp_path: Path) -> None:
    folder = tmp_path / "grammars"
    shutil.copytree(GRAMMARS, folder)
    file = folder / "panels.jsgf"
    text = file.read_text(encoding="utf-8")
    assert text.count("(bonnet | hood)") == 1
    file.write_text(text.replace("(bonnet | hood)", "(bonnet | hood | engine lid)"), encoding="utf-8")
    changed = say_card(load_grammar(folder / "voicelog.jsgf"))
    assert "bonnet · hood · engine lid" in changed.to_text()
    assert "engine\N{NO-BREAK SPACE}lid" in card_html(changed)


@pytest.mark.parametrize(
    ("rules", "lines"),
    [
        ("(steel | iron) {material=steel}", ["steel · iron"]),
        ("(iron | steel) {material=steel}", ["steel · iron"]),
        ("alloy {material=aluminium}", ["alloy → aluminium"]),
        ("(no access | access none) {access=none}", ["no access · access none"]),
        ("[very] deep {depth=deep}", ["deep"]),
        ("(clear | delete) [the] (width {clear=width_mm} | length {clear=length_mm})", None),
        ("pull {step=pull} | <n> pulls {step=pull}", ["pull · … pulls"]),
        ("(remove | remove <n> <n>) {x=y}", ["remove → y"]),
        ("(new {job=new} | new <n> {job=new})", ["new"]),
        ("one {step=push} | two {step=pull} | x {step=x}", ["one → push | two → pull | x"]),
        ("<helper> <helper>", ["flat"]),
    ],
)
def test_lines_of_a_rule(write: Write, rules: str, lines: list[str] | None) -> None:
    text = "import <topic.*>; public <a> = <b>;\n<n> = one;\n"
    topic = (
        "#JSGF V1.0;\ngrammar topic;\n/** Topic */ public <b> = "
        f"{rules};\n<n> = one | two;\n<helper> = flat {{tab=flat}} | [<helper>];\n"
    )
    (group,) = say_card(write(text, topic=topic)).groups
    expected = ["clear width · delete width", "clear length · delete length"] if lines is None else lines
    assert [line.replace("\N{NO-BREAK SPACE}", " ") for line in group.lines()] == expected


@pytest.mark.parametrize("width", [20, 40, 63, 100, 200])
def test_the_text_fits_the_width(card: SayCard, width: int) -> None:
    text = card.to_text(width)
    assert max(map(len, text.splitlines())) <= max(width, 40)
    assert "\N{NO-BREAK SPACE}" not in text
    said = {word for group in card.groups for line in group.lines() for word in line.split()}
    assert {word for words in said for word in words.split()} <= set(text.split())


@needs_poppler
def test_the_pdf_is_two_pages_of_a4(card: SayCard, tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    assert write_say_card(card, path) == "wrote"
    told = pages(path)
    assert "Pages:           2\n" in told
    assert "(A4)" in told


@needs_poppler
@needs_chromium
def test_the_html_prints_on_two_pages_of_a4(card: SayCard, tmp_path: Path) -> None:
    page, printed = tmp_path / "card.html", tmp_path / "card.pdf"
    write_say_card(card, page)
    command = [
        str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
        f"--user-data-dir={tmp_path / 'profile'}", "--no-pdf-header-footer", f"--print-to-pdf={printed}",
        page.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, capture_output=True, timeout=120, check=True)
    told = pages(printed)
    assert "Pages:           2\n" in told
    assert "(A4)" in told


def pages(path: Path) -> str:
    return subprocess.run([str(PDFINFO), str(path)], capture_output=True, text=True, check=True).stdout


def test_a_card_too_long_for_a_page_is_refused(card: SayCard, tmp_path: Path) -> None:
    long = replace(card, groups=tuple(SayGroup(f"Group {n}", "words " * 20, ()) for n in range(240)))
    with pytest.raises(VoicelogError, match="does not fit on two pages"):
        write_say_card(long, tmp_path / "card.pdf")
    with pytest.raises(VoicelogError, match=r"\.html or a \.pdf"):
        write_say_card(card, tmp_path / "card.docx")
    assert list(tmp_path.iterdir()) == []


def test_a_single_group_longer_than_a_page_is_refused_and_not_cut_off(card: SayCard, tmp_path: Path) -> None:
    long = replace(card, groups=(SayGroup("Group", "words " * 9000, ()),))
    with pytest.raises(VoicelogError, match="does not fit on two pages"):
        write_say_card(long, tmp_path / "card.pdf")


@needs_pdftotext
def test_no_group_is_split_between_columns(card: SayCard, tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    write_say_card(card, path)
    command = [str(PDFTOTEXT), "-bbox-layout", str(path), "-"]
    layout = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    titles = {group.title for group in card.groups}
    tops: dict[int, tuple[float, str]] = {}
    for x, y, body in re.findall(
        r'<line xMin="([\d.]+)" yMin="([\d.]+)"[^>]*>(.*?)</line>', layout, re.DOTALL
    ):
        text = html.unescape(" ".join(re.findall(r">([^<>]+)</word>", body)))
        if text != card.title:
            third = int(float(x) // (PAGE_WIDTH_PT / 3))
            tops[third] = min(tops.get(third, (1e9, "")), (float(y), text))
    assert set(tops) == {0, 1, 2}
    for _, text in tops.values():
        assert any(title.startswith(text) for title in titles), text
