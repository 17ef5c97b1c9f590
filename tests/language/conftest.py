"""The grammar as a word network, loaded once, and the region most tests use."""

from __future__ import annotations

from pathlib import Path

import pytest

from voicelog.grammar import Network, load_grammar
from voicelog.meaning.region import Region

GRAMMAR = Path(__file__).parents[2] / "grammars" / "voicelog.jsgf"


@pytest.fixture(scope="session")
def network() -> Network:
    return load_grammar(GRAMMAR).network()


@pytest.fixture
def region() -> Region:
    return Region("GB")
