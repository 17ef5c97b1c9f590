from __future__ import annotations

from collections.abc import Callable

from voicelog.grammar import Grammar

Write = Callable[..., Grammar]
"""Loads a grammar given as its rules, with other files beside it as name -> whole text."""
