"""The board's two themes: light text on near black, and black on paper white.

Every pair of text and ground has a contrast of at least 7:1, what WCAG 2.2
asks for at level AAA; `tests/board/test_themes.py` computes it.
"""

from __future__ import annotations

from textual.theme import Theme

DARK = Theme(
    name="workshop-dark",
    primary="#8cc8ff",
    secondary="#c9d1d9",
    accent="#ffd23f",
    warning="#ffd23f",
    error="#ff9d94",
    success="#86e29b",
    foreground="#f4f4ee",
    background="#0b0d10",
    surface="#14181d",
    panel="#222932",
    dark=True,
    text_alpha=1.0,
    variables={"board-dim": "#aeb6bf", "board-empty": "#3a4450", "board-on-bright": "#0b0d10"},
)
LIGHT = Theme(
    name="workshop-light",
    primary="#003f7a",
    secondary="#30363d",
    accent="#5c3d00",
    warning="#5c3d00",
    error="#8a0f0f",
    success="#0b4f1f",
    foreground="#101214",
    background="#fbfbf6",
    surface="#f1f1ea",
    panel="#e2e3db",
    dark=False,
    text_alpha=1.0,
    variables={"board-dim": "#43484e", "board-empty": "#c2c5bd", "board-on-bright": "#fbfbf6"},
)
THEMES = (DARK, LIGHT)
