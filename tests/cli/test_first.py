"""What the first start writes, and that the board is served to this machine only unless asked."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Run
from voicelog.board.first_start.parts import Choices
from voicelog.cli.first import save
from voicelog.settings import load_settings


def test_choices_are_written_and_what_stood_there_stays(tmp_path: Path) -> None:
    file = tmp_path / "settings.toml"
    file.write_text('# mine\ncountry = "GB"\n\n[workshop]\nname = "Foundry Yard (invented)"\n')
    save(Choices(device="Headset", country="US", units="inch", card="my.toml"), file)
    found = load_settings(file)
    assert (found.country, found.units, found.card) == ("US", "inch", "my.toml")
    assert found.listening.device == "Headset"
    assert found.workshop.name == "Foundry Yard (invented)"
    assert file.read_text().startswith("# mine")


def test_a_fresh_file_is_made_with_its_folder(tmp_path: Path) -> None:
    file = tmp_path / "deep" / "settings.toml"
    save(Choices(), file)
    assert load_settings(file).country == "GB"


def test_first_start_and_board_need_a_terminal(run: Run) -> None:
    run("say", "roof ten mil", "--log", "j.db")
    for arguments in (("first-start",), ("board", "--log", "j.db"), ("review", "--log", "j.db")):
        ran = run(*arguments)
        assert ran.status == 2
        assert "terminal" in ran.err


def test_serving_a_journal_that_is_not_there_is_refused(run: Run) -> None:
    assert run("board", "--serve", "--log", "gone.db").status == 2
