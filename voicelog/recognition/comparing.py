"""When two answers count as one."""

from __future__ import annotations

from voicelog.grammar import Network

LITTLE_WORDS = (
    "a an and at can er for from get give have i i'd i'm in is it it's like make may me of on please "
    "that the there there's to uh um want was we with"
)
FUNCTION_WORDS = frozenset(LITTLE_WORDS.split())
"""Words that do not change what a sentence means; two answers that differ only here count as one."""


def same_meaning(network: Network, first: str, second: str) -> bool:
    """Whether two sentences of a grammar carry the same tags in the same order.

    False for sentences without tags: only their words could be compared.
    """
    parses = [network.match(words, 1) for words in (first, second)]
    if not all(parses):
        return False
    mine, other = ([tag.text for tag in found[0].tags()] for found in parses)
    return bool(mine) and mine == other
