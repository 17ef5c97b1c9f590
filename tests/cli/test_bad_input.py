"""Whatever is wrong with the input ends in one line that says what to do, status 2, nothing lost."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.conftest import Ran, Run
from voicelog.grammar import load_grammar
from voicelog.journal.locks import WriterLock

CARD = Path(__file__).parents[2] / "demo" / "rate-card.toml"


def one_line(ran: Ran) -> str:
    """The single line on standard error of a refused command."""
    assert ran.status == 2
    lines = ran.err.strip().splitlines()
    assert len(lines) == 1, ran.err
    assert lines[0].startswith("voicelog: ")
    assert "Traceback" not in ran.err
    return lines[0]


class TestRecordings:
    def test_missing(self, run: Run) -> None:
        assert "gone.wav" in one_line(run("hear", "gone.wav", "--log", "j.db"))

    def test_empty(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "a.wav").write_bytes(b"")
        assert "a.wav" in one_line(run("hear", "a.wav", "--log", "j.db"))

    def test_no_audio(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "a.wav").write_text("this is a text, and no sound at all")
        assert "a.wav" in one_line(run("hear", "a.wav", "--log", "j.db"))

    def test_folder(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "sounds").mkdir()
        assert "sounds" in one_line(run("hear", "sounds", "--log", "j.db"))

    def test_silence_is_no_error_and_logs_nothing(self, run: Run, tmp_path: Path) -> None:
        soundfile.write(tmp_path / "a.wav", np.zeros(16000), 16000)
        ran = run("hear", "a.wav", "--log", "j.db", "--json")
        assert (ran.status, ran.out) == (0, "")


class TestCommandLine:
    @pytest.mark.parametrize(
        "arguments",
        [("hear", "--loud"), ("whistle",), ("price", "--job", "many"), ("hear",)],
    )
    def test_unknown_or_wrong_arguments(self, run: Run, arguments: tuple[str, ...]) -> None:
        one_line(run(*arguments))

    def test_no_such_job(self, run: Run) -> None:
        run("say", "roof ten mil", "--log", "j.db")
        assert "job 7" in one_line(run("price", "--log", "j.db", "--job", 7))


class TestJournal:
    def test_not_there(self, run: Run) -> None:
        assert "no journal" in one_line(run("price", "--log", "j.db"))

    def test_no_journal_file(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "j.db").write_text("a shopping list, and no journal, long enough to be looked at" * 40)
        before = (tmp_path / "j.db").read_bytes()
        one_line(run("say", "roof ten mil", "--log", "j.db"))
        assert (tmp_path / "j.db").read_bytes() == before

    def test_another_database(self, run: Run, tmp_path: Path) -> None:
        other = sqlite3.connect(tmp_path / "j.db")
        other.execute("CREATE TABLE shopping (item TEXT)")
        other.commit()
        other.close()
        one_line(run("say", "roof ten mil", "--log", "j.db"))
        left = sqlite3.connect(tmp_path / "j.db").execute("SELECT name FROM sqlite_master").fetchall()
        assert left == [("shopping",)]

    def test_written_by_another_session(self, run: Run, tmp_path: Path) -> None:
        run("say", "roof ten mil", "--log", "j.db")
        lock = WriterLock(tmp_path / "j.db")
        try:
            one_line(run("say", "bonnet ten mil", "--log", "j.db"))
            assert run("price", "--log", "j.db").status == 0
        finally:
            lock.release()

    def test_damaged(self, run: Run, tmp_path: Path) -> None:
        run("say", *["roof ten mil", "scratch that"] * 40, "--log", "j.db")
        data = bytearray((tmp_path / "j.db").read_bytes())
        data[len(data) // 2 : len(data) // 2 + 2000] = b"\xa5" * 2000
        (tmp_path / "j.db").write_bytes(data)
        ran = run("verify", "--log", "j.db")
        assert ran.status == 2
        assert "Traceback" not in ran.err


class TestCardAndSettings:
    def test_wrong_table_names_it(self, run: Run, tmp_path: Path) -> None:
        text = CARD.read_text(encoding="utf-8").replace("[tax]", "[taxes]")
        (tmp_path / "card.toml").write_text(text, encoding="utf-8")
        assert "taxes" in one_line(run("say", "roof ten mil", "--log", "j.db", "--card", "card.toml"))
        assert not (tmp_path / "j.db").exists()

    def test_unknown_setting_suggests_the_nearest(self, run: Run, tmp_path: Path) -> None:
        (tmp_path / "s.toml").write_text('contry = "GB"\n')
        line = one_line(run("say", "roof ten mil", "--log", "j.db", "--settings", "s.toml"))
        assert "contry" in line
        assert "country" in line

    def test_card_new_never_writes_over(self, run: Run, tmp_path: Path) -> None:
        assert run("card", "new", "my.toml").status == 0
        assert run("card", "check", "my.toml").status == 0
        one_line(run("card", "new", "my.toml"))


def test_grammar_with_a_typo_names_file_line_and_what_was_expected(tmp_path: Path) -> None:
    grammar = tmp_path / "typo.jsgf"
    grammar.write_text("#JSGF V1.0;\ngrammar typo;\npublic <a> = (door | roof;\n")
    with pytest.raises(Exception, match=r'typo\.jsgf:3:26: found ";", expected'):
        load_grammar(grammar)


def test_a_mistake_of_ours_ends_with_status_1_and_a_file_with_the_traceback(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise LookupError("made to fail")

    monkeypatch.setattr("voicelog.cli.show.load_settings", broken)
    ran = run("price", "--log", "j.db")
    assert ran.status == 1
    (line,) = ran.err.strip().splitlines()
    (file,) = (tmp_path / "home").rglob("crash-*.txt")
    assert line.endswith(str(file))
    text = file.read_text(encoding="utf-8")
    assert "LookupError: made to fail" in text
    assert "Traceback" in text


def test_a_mistyped_command_is_told_the_nearest_one(run: Run) -> None:
    assert "Did you mean 'price'" in one_line(run("prise"))


def test_without_a_command_there_is_help_that_names_all(run: Run) -> None:
    ran = run()
    assert {"listen", "price", "papers", "card", "verify"} <= set(ran.out.split())
    assert "Print the estimate of each job." in ran.out
