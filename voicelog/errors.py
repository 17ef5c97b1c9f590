"""The one exception that reaches the user, always as one line.

Every room raises `VoicelogError` (or a subclass) for what the user can mend:
a wrong file, a wrong table, a missing device.  `voicelog.cli` prints it as one
line on standard error and ends with exit status 2.
"""

from __future__ import annotations


class VoicelogError(Exception):
    """What is wrong, where, and what to do about it.

    Args:
        what: what is wrong, a clause without a full stop.
        where: the file, table or device it concerns, or None.
        todo: what the user can do, a clause without a full stop, or None.
    """

    def __init__(self, what: str, *, where: str | None = None, todo: str | None = None) -> None:
        self.what = what
        self.where = where
        self.todo = todo
        super().__init__(self.line())

    def line(self) -> str:
        """The error as one line of text."""
        text = f"{self.where}: {self.what}" if self.where else self.what
        if self.todo:
            text = f"{text}; {self.todo}"
        return " ".join(text.split())
