"""The command palette of the review desk: every command with its key."""

from __future__ import annotations

from functools import partial

from textual.command import DiscoveryHit, Hit, Hits, Provider

from voicelog.board.review.commands import COMMANDS, Command, key_name


class DeskCommands(Provider):
    """Offers the commands of `COMMANDS`."""

    async def discover(self) -> Hits:
        """All of them, before anything is typed."""
        for command in COMMANDS:
            yield DiscoveryHit(_title(command), partial(self._do, command), help=command.help)

    async def search(self, query: str) -> Hits:
        """Those that match what is typed."""
        matcher = self.matcher(query)
        for command in COMMANDS:
            score = matcher.match(f"{command.title} {command.help}")
            if score > 0:
                title = matcher.highlight(f"{command.title} {command.help}")
                yield Hit(score, title, partial(self._do, command), help=f"key {key_name(command)}")

    def _do(self, command: Command) -> None:
        self.screen.run_worker(self.screen.run_action(f"do('{command.name}')"))


def _title(command: Command) -> str:
    return f"{command.title} ({key_name(command)})"
