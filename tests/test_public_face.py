"""What `import voicelog` promises: names that are there, at no cost, and an example that runs."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import voicelog

GUIDE = Path(__file__).parents[1] / "DEVELOPERS.md"


@pytest.mark.parametrize("name", voicelog.__all__)
def test_every_name_is_there(name: str) -> None:
    assert getattr(voicelog, name) is not None
    assert name in dir(voicelog)


def test_other_names_are_not() -> None:
    with pytest.raises(AttributeError, match="no attribute 'open_motor'"):
        _ = voicelog.open_motor


def test_importing_it_imports_no_room() -> None:
    """In a fresh process: only the version is read."""
    program = "import sys, voicelog; print(sorted(m for m in sys.modules if m.startswith('voicelog')))"
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "['voicelog', 'voicelog.version']"


def test_the_version_command_imports_no_room() -> None:
    program = (
        "import sys\n"
        "sys.argv = ['voicelog', '--version']\n"
        "from voicelog.cli import main\n"
        "try:\n    main()\n"
        "except SystemExit:\n    print(*{m.split('.')[1] for m in sys.modules if m.startswith('voicelog.')})"
    )
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    version, rooms = run.stdout.splitlines()
    assert version == f"voicelog {voicelog.__version__}"
    assert set(rooms.split()) == {"cli", "errors", "version", "visible"}


def test_the_example_of_the_guide_runs(tmp_path: Path) -> None:
    (example,) = re.findall(r"```python\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)
    run = subprocess.run(
        [sys.executable, "-c", example], cwd=GUIDE.parent, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    *answers, total = run.stdout.splitlines()
    assert "accepted front left door, aluminium, three five mil, shallow, push" in answers
    currency, low, high = total.split()
    assert currency == "GBP"
    assert 0 < float(low) <= float(high)
