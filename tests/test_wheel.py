"""The wheel, installed apart from the checkout, has all that its commands need."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from email.parser import Parser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)]
    made = subprocess.run(command, capture_output=True, text=True)
    if made.returncode and "hatchling" in made.stderr:
        pytest.skip("the build tool cannot be had here")
    assert made.returncode == 0, made.stderr
    return next(folder.glob("*.whl"))


def test_it_names_its_licences_and_carries_what_they_ask_for(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
        metadata = next(name for name in names if name.endswith(".dist-info/METADATA"))
        about = Parser().parsestr(archive.read(metadata).decode("utf-8"))
        notices = archive.read("voicelog/NOTICES.txt").decode("utf-8")
    assert about["License-Expression"] == "MIT AND Bitstream-Vera AND OFL-1.1"
    fonts = [Path(name) for name in names if name.endswith(".ttf")]
    assert fonts
    for font in fonts:
        family = font.stem.partition("Sans")[0]  # the file of the licence is named after the family
        assert any(Path(name).name.startswith(f"LICENSE-{family}") for name in names), font
        assert family in notices
    assert "moonshine-voice" in notices


def test_a_first_note_works_where_only_the_wheel_is(wheel: Path, tmp_path: Path) -> None:
    home = tmp_path / "apart"
    venv.create(home, with_pip=False)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / Path(sys.executable).name
    place = subprocess.check_output(
        [str(python), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], text=True
    ).strip()
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(place)
    # The other packages are those of this environment, but not its checkout of voicelog.
    Path(place, "others.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    environment = {**os.environ, "HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")}
    environment.pop("PYTHONPATH", None)

    def voicelog(*arguments: str) -> str:
        command = [str(python), "-m", "voicelog", *arguments]
        return subprocess.run(
            command, cwd=tmp_path, env=environment, check=True, capture_output=True, text=True
        ).stdout

    where = subprocess.check_output(
        [str(python), "-c", "import voicelog; print(voicelog.__file__)"], cwd=tmp_path, text=True
    )
    assert where.startswith(str(home))
    said = voicelog("say", "--json", "--log", "j.db", "front left door aluminium thirty five mil push")
    assert json.loads(said)["slots"]["length_mm"] == 35
    assert json.loads(voicelog("price", "--json", "--log", "j.db"))["jobs"]
    assert "mil" in voicelog("sheet")
    voicelog("papers", "--log", "j.db", "--out", "papers")
    assert any(path.suffix == ".pdf" for path in (tmp_path / "papers").rglob("*"))
