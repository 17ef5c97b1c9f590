"""A language and what is done with it: match, search, sample, list its phrases."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path

from voicelog.grammar import match as matching
from voicelog.grammar import sample as sampling
from voicelog.grammar.automaton import Automaton, reduce
from voicelog.grammar.errors import GrammarError
from voicelog.grammar.kept import kept_network
from voicelog.grammar.load import Rules, load_rules
from voicelog.grammar.match import Parse, Stop
from voicelog.grammar.network import ANY, WordNetwork, build_network, unlabelled
from voicelog.grammar.own_words import OwnWords
from voicelog.grammar.sample import Sample


@dataclass(eq=False)
class Network(WordNetwork):
    """A word network with its uses."""

    path: Path | None = None
    """The grammar's file, for all that it makes public."""
    own: OwnWords = ()
    """The user's own words that are in it."""

    @cached_property
    def wider(self) -> Network | None:
        """The network of what is typed or written down freely; None where the grammar has none.

        It is in the file beside the grammar's own whose name ends in "-talk".
        """
        path = None if self.path is None else self.path.with_stem(f"{self.path.stem}-talk")
        if path is None or not path.is_file():
            return None
        found = kept_network(path, lambda: unlabelled(load_grammar(path, self.own).network()), self.own)
        parts = {item.name: getattr(found, item.name) for item in fields(WordNetwork)}
        return Network(**parts, path=path, own=self.own)

    def words(self) -> frozenset[str]:
        """Every word of the network."""
        return self.vocabulary

    def alternatives(self) -> tuple[str, ...]:
        """Labels of every alternative of the rules used, as "file:line: text"."""
        return self.labels

    def match(self, words: Sequence[str] | str, limit: int = 12) -> list[Parse]:
        """Every distinct parse of a sentence, likeliest first, at most `limit`; none if it is no sentence."""
        return matching.match(self, words.split() if isinstance(words, str) else list(words), limit)

    def stop(self, words: Sequence[str] | str) -> Stop | None:
        """Where a word list leaves the grammar and what could have come there; None if it is a sentence."""
        return matching.stop(self, words.split() if isinstance(words, str) else list(words))

    def sample(self, rng: random.Random, longest: int = 30, *, uniform: bool = False) -> Sample:
        """A random sentence with the tags of its path.

        Args:
            rng: where the chance comes from.
            longest: words after which the sentence takes the shortest way to its end.
            uniform: take every alternative as likely as the next, whatever the weights.

        Raises:
            GrammarError: nothing can be said at all.
        """
        return sampling.sample(self, rng, longest, uniform)

    def cover(self) -> list[Sample]:
        """Sentences that together take every alternative and say every word arc at least once."""
        return sampling.cover(self)

    @cached_property
    def automaton(self) -> Automaton:
        """The same language without marks and with few arcs, for search."""
        return reduce(self)

    def fsg(self, name: str = "voicelog") -> str:
        """The search grammar in Sphinx FSG text form.

        Raises:
            GrammarError: nothing can be said at all.
        """
        return self.automaton.fsg(name)

    def phrases(self, limit: int = 2000, seed: int = 1) -> list[str]:
        """Phrases for an engine that takes a phrase list: sampled sentences and every single word."""
        rng = random.Random(seed)
        found = dict.fromkeys(" ".join(item.words) for item in self.cover())
        # A small grammar has fewer sentences than asked for, so the tries are counted.
        for _ in range(limit * 4):
            if len(found) >= limit // 2:
                break
            found[" ".join(self.sample(rng).words)] = None
        sentences = [phrase for phrase in found if " " in phrase and ANY not in phrase.split()]
        words = sorted(self.words())
        # Every word goes before a further sentence.
        sentences = sentences[: max(0, limit - len(words))]
        return [*sentences, *words][:limit]


@dataclass(frozen=True)
class Grammar(Rules):
    """The rules of a grammar, and the network that they make."""

    def network(self, rule: str | None = None) -> Network:
        """The word network of one rule, or of all public rules as alternatives.

        Raises:
            GrammarError: no such rule, or recursion that no finite network can hold.
        """
        if rule is None:
            return Network(**vars(build_network(self, self.public)), path=self.files[0], own=self.own)
        found = rule if rule in self.rules else f"{self.name}.{rule}"
        if found not in self.rules:
            found = next((name for name in self.rules if name.rpartition(".")[2] == rule), "")
        if not found:
            raise GrammarError(f"there is no rule <{rule}>", where=str(self.files[0]))
        return Network(**vars(build_network(self, (found,))))


def load_grammar(path: Path | str, own: OwnWords = ()) -> Grammar:
    """Load a JSGF file and the files it imports, with a user's own words where their values stand.

    Raises:
        GrammarError: as `load_rules`.
    """
    return Grammar(**vars(load_rules(path, own)))
