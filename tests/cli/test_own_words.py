"""Words of a technician's own: taught, said, heard, on the say-card, checked.  All are invented."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_bad_input import one_line
from tests.cli.test_commands import CARD, said

TAUGHT = {
    "bonny": "bonnet",
    "slash": "crease",
    "can opener": "door card",
    "big bertha": "tool",
    "badge may come loose": "risk",
}


@pytest.fixture
def words(run: Run, tmp_path: Path) -> Path:
    for phrase, value in TAUGHT.items():
        assert run("teach", phrase, "--means", value).status == 0
    return next((tmp_path / "home").rglob("words.toml"))


def test_what_is_taught_stands_in_the_words_file_once(run: Run, words: Path) -> None:
    run("teach", "bonny", "--means", "boot-lid")
    lines = words.read_text().splitlines()
    assert [line for line in lines if "bonny" in line] == ['"bonny" = "boot-lid"']
    assert '"big bertha" = "tool"' in lines


@pytest.mark.usefixtures("words")
def test_they_are_understood_in_notes_and_in_free_talk(run: Run) -> None:
    _, one, off, step, told, talk = said(
        run,
        "new job",
        "bonny steel forty mil slash",
        "take off can opener",
        "push with big bertha",
        "customer told badge may come loose and crease may show",
        "right, so, next one, the bonny's got, er, a slash on the bonny about fifty mil",
    )
    assert one["slots"] == {"panel": "bonnet", "material": "steel", "length_mm": 40, "shape": "crease"}
    assert one["answer"] == "bonnet, steel, four zero mil, crease"
    assert off["slots"] == {"access": "trim-off", "take_off": ["door-card"]}
    assert step["slots"] == {"step": "push", "tool": "big bertha"}
    assert told["slots"] == {"risk": ["crease-may-show", "badge may come loose"]}
    assert {"panel": "bonnet", "shape": "crease", "length_mm": 50}.items() <= talk["slots"].items()


@pytest.mark.skipif(not shutil.which("flite"), reason="no flite to say the words")
@pytest.mark.usefixtures("words")
@pytest.mark.parametrize(
    ("sentence", "slots"),
    [
        ("bonny steel forty mil slash", {"panel": "bonnet", "material": "steel", "shape": "crease"}),
        ("push with big bertha", {"step": "push", "tool": "big bertha"}),
    ],
)
def test_they_are_heard(run: Run, sentence: str, slots: dict[str, str]) -> None:
    subprocess.run(["flite", "-voice", "slt", "-t", sentence, "-o", "own.wav"], check=True)
    ran = run("hear", "own.wav", "--engine", "neural", "--json", "--log", "j.db", "--card", CARD)
    assert ran.status == 0, ran.err
    heard = json.loads(ran.out)
    assert heard["words"] == sentence
    assert slots.items() <= heard["slots"].items()


@pytest.mark.usefixtures("words")
def test_they_are_on_the_say_card(run: Run) -> None:
    card = run("sheet").out
    assert "bonnet · bonny · hood" in card
    assert "badge may come loose" in card
    assert "Tools of your own: big bertha." in card


def test_check_lists_what_cannot_be_used_and_all_else_goes_on(run: Run, words: Path) -> None:
    with words.open("a") as file:
        file.write(
            '"wing" = "door"\n"boot lid" = "tailgate"\n"hat" = "bonet"\n"§" = "roof"\n"zorglub" = "roof"\n'
        )
    ran = run("check")
    assert ran.status in (0, 2), ran.err  # 2: there is no microphone here
    lines = [line for line in ran.out.splitlines() if line.startswith("own words")]
    assert f"{len(TAUGHT) + 1} in use" in lines[0]
    assert [line.partition(": ")[2] for line in lines[1:5]] == [
        '"hat" = "bonet": no value of that name, did you mean bonnet?; left out',
        '"§" is no phrase in plain words; left out',
        '"wing" already means something; left out',
        '"boot lid" already means something; left out',
    ]
    assert lines[5].endswith('PocketSphinx cannot hear "zorglub" before: voicelog teach zorglub')
    ran = run("say", "left wing forty mil", "bonny", "--json", "--log", "j.db", "--card", CARD)
    assert json.loads(ran.out.splitlines()[0])["slots"]["panel"] == "wing"
    assert '"wing" already means something; left out' in ran.err


def test_pocketsphinx_listens_without_the_words_it_cannot_hear(run: Run, words: Path) -> None:
    words.write_text('"zorglub" = "roof"\n')
    assert "pocketsphinx" in run("check", "--engine", "pocketsphinx").out


@pytest.mark.parametrize(
    ("phrase", "value", "why"),
    [
        ("wing", "door", "already means something"),
        ("bonny", "bonet", "did you mean bonnet?"),
        ("§", "roof", "no phrase in plain words"),
    ],
)
def test_what_cannot_be_used_is_not_taught(
    run: Run, phrase: str, value: str, why: str, tmp_path: Path
) -> None:
    assert why in one_line(run("teach", phrase, "--means", value))
    assert not list((tmp_path / "home").rglob("words.toml"))


def test_a_words_file_that_is_none_is_told_in_one_line(run: Run, words: Path) -> None:
    words.write_text('bonny = ["bonnet"]\n')
    assert "words.toml" in one_line(run("say", "new job", "--log", "j.db"))
