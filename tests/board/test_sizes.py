"""Letters are as large as the screen allows, and no band falls out of sight."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voicelog.board.live.sizes import fit
from voicelog.board.widgets.letters import rows_at


@pytest.mark.parametrize(
    ("size", "letters"), [((80, 24), 1), ((120, 40), 2), ((200, 60), 3), ((240, 80), 4), ((42, 40), 1)]
)
def test_letters_grow_with_the_terminal(size: tuple[int, int], letters: int) -> None:
    assert fit(*size).letters == letters
    assert fit(*size).place


@given(st.integers(30, 250), st.integers(24, 100), st.booleans(), st.integers(0, 3))
def test_every_band_fits(columns: int, rows: int, asking: bool, small_print: int) -> None:
    """Place (where it is shown), size, next or question, and total, with ear and small print."""
    found = fit(columns, rows, asking=asking, small_print=small_print)
    bands = (3 if asking else 4) * found.lines * rows_at(found.letters)
    place = found.lines * rows_at(found.letters) if asking and found.place else 0
    print_rows = 3 + small_print + (3 if asking else 0)
    ear = rows_at(found.ear) if found.ear else 1
    taken = bands + place + print_rows + ear
    assert taken <= rows or (found.letters, found.ear, found.lines) == (1, 0, 1)


def test_a_question_at_80_by_24_leaves_size_and_price() -> None:
    found = fit(80, 24, asking=True)
    assert (found.letters, found.ear, found.place) == (1, 1, False)


def test_a_telephone_held_upright_breaks_lines() -> None:
    assert fit(42, 40).lines == 2
    assert fit(42, 40, asking=True).lines == 2
