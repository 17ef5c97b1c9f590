from __future__ import annotations

from pathlib import Path

import pytest
from writing import Write

from voicelog.grammar import Grammar, load_grammar


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def made(rules: str, *, header: str = "#JSGF V1.0;\ngrammar test;\n", **beside: str) -> Grammar:
        for name, text in beside.items():
            (tmp_path / f"{name}.jsgf").write_text(text, encoding="utf-8")
        path = tmp_path / "test.jsgf"
        path.write_text(header + rules, encoding="utf-8")
        return load_grammar(path)

    return made
