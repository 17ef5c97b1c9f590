"""Nothing on the screens may move by itself, and no test may wait for a dialog for ever."""

from __future__ import annotations

import pytest
from textual.widgets import Input, TextArea


@pytest.fixture(autouse=True)
def no_blinking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cursors stand still."""
    monkeypatch.setattr(Input, "_toggle_cursor", lambda self: None)
    monkeypatch.setattr(TextArea, "_toggle_cursor_blink_visible", lambda self: None)


@pytest.fixture(autouse=True)
def no_animation(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scrolling and tabs jump instead of gliding."""
    monkeypatch.setattr("textual.constants.TEXTUAL_ANIMATIONS", "none")
