"""The core works without screen, sound device and recogniser: looked at in a fresh process.

The static contract in pyproject.toml cannot see an import inside a function.
"""

from __future__ import annotations

import subprocess
import sys

import pytest

CORE = ["grammar", "meaning", "journal", "jobs", "estimate", "papers"]
OUTSIDE = {"textual", "sounddevice", "vosk", "pocketsphinx"}

PROGRAM = """
import importlib, pkgutil, sys
package = importlib.import_module("voicelog." + sys.argv[1])
for module in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
    importlib.import_module(module.name)
print(" ".join(sorted({name.partition(".")[0] for name in sys.modules})))
"""


@pytest.mark.parametrize("room", CORE)
def test_every_module_of_a_core_room_imports_without_the_edges(room: str) -> None:
    run = subprocess.run(
        [sys.executable, "-c", PROGRAM, room], capture_output=True, text=True, check=True, timeout=60
    )
    loaded = set(run.stdout.split())
    assert "voicelog" in loaded
    assert not loaded & OUTSIDE
