"""A reader of Sphinx FSG text that shares no code with the writer: what a recogniser would accept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence


class Fsg:
    """An FSG; sentences are checked by following every way at once."""

    def __init__(self, text: str) -> None:
        lines = [line.split() for line in text.splitlines()]
        assert lines[0][0] == "FSG_BEGIN"
        assert lines[-1] == ["FSG_END"]
        head = {key: int(value) for key, value in lines[1:4]}
        self.states, self.start, self.final = (
            head["NUM_STATES"], head["START_STATE"], head["FINAL_STATE"],
        )  # fmt: skip
        self.ways: dict[int, list[tuple[int, float, str | None]]] = defaultdict(list)
        for kind, source, target, chance, *word in lines[4:-1]:
            assert kind == "TRANSITION"
            assert max(int(source), int(target)) < self.states
            assert 0 < float(chance) <= 1
            self.ways[int(source)].append((int(target), float(chance), word[0] if word else None))

    def _silently(self, states: set[int]) -> set[int]:
        waiting = list(states)
        while waiting:
            for target, _, word in self.ways[waiting.pop()]:
                if word is None and target not in states:
                    states.add(target)
                    waiting.append(target)
        return states

    def run(self, words: Sequence[str]) -> list[set[int]]:
        """The states possible before the first word, after it, and so on."""
        found = [self._silently({self.start})]
        for word in words:
            reached = {target for state in found[-1] for target, _, said in self.ways[state] if said == word}
            found.append(self._silently(reached))
        return found

    def accepts(self, words: Sequence[str]) -> bool:
        return self.final in self.run(words)[-1]

    def following(self, states: set[int]) -> set[str]:
        """Words that can be said in some of the states."""
        return {word for state in states for _, _, word in self.ways[state] if word is not None}
