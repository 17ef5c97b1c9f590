"""What the session reports, as messages of the screen's own thread."""

from __future__ import annotations

from textual.message import Message

from voicelog.session.reports import FeedItem, Level, Partial


class Fed(Message):
    """Something was reported; every one of them counts."""

    def __init__(self, item: FeedItem) -> None:
        super().__init__()
        self.item = item


class _Latest(Fed):
    """Only the latest counts: one that waits is replaced by the next."""

    def can_replace(self, message: Message) -> bool:
        """A newer report of the same class takes the place of an older one."""
        return type(message) is type(self)


class LevelFed(_Latest):
    """The sound level changed."""


class PartialFed(_Latest):
    """More words of the utterance being spoken."""


def as_message(item: FeedItem) -> Fed:
    """The message for a report."""
    if isinstance(item, Level):
        return LevelFed(item)
    return PartialFed(item) if isinstance(item, Partial) else Fed(item)
