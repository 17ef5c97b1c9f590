"""The commands: each a thin call into the rooms."""

from voicelog.cli.main import main

__all__ = ["main"]
