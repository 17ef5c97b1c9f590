"""Random grammars, each with the set of all its sentences up to four words, made by set operations."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from hypothesis import strategies as st

WORDS = ("a", "b", "c")
LONGEST = 4
SENTENCES = [words for length in range(LONGEST + 1) for words in itertools.product(WORDS, repeat=length)]
"""Every word list up to four words: 121 of them."""

Language = frozenset[tuple[str, ...]]
EMPTY: Language = frozenset({()})


@dataclass(frozen=True)
class Part:
    """An expansion in JSGF, and what it lets be said, up to four words."""

    jsgf: str
    language: Language


def joined(first: Language, second: Language) -> Language:
    return frozenset(x + y for x in first for y in second if len(x) + len(y) <= LONGEST)


def repeated(once: Language) -> Language:
    """Any number of times, also none."""
    found = EMPTY
    while (more := found | joined(found, once)) != found:
        found = more
    return found


def _sequence(parts: list[Part]) -> Part:
    language = EMPTY
    for part in parts:
        language = joined(language, part.language)
    return Part("(" + " ".join(part.jsgf for part in parts) + ")", language)


def _choice(parts: list[tuple[float, Part]]) -> Part:
    jsgf = " | ".join(f"/{weight}/ {part.jsgf}" for weight, part in parts)
    return Part(f"({jsgf})", frozenset().union(*(part.language for _, part in parts)))


def _wrapped(parts: st.SearchStrategy[Part]) -> st.SearchStrategy[Part]:
    weights = st.sampled_from([0.2, 1, 3])
    return st.one_of(
        st.lists(parts, min_size=1, max_size=3).map(_sequence),
        st.lists(st.tuples(weights, parts), min_size=1, max_size=3).map(_choice),
        parts.map(lambda part: Part(f"[{part.jsgf}]", part.language | EMPTY)),
        parts.map(lambda part: Part(f"({part.jsgf})*", repeated(part.language))),
        parts.map(lambda part: Part(f"({part.jsgf})+", joined(part.language, repeated(part.language)))),
        st.tuples(parts, st.sampled_from(["t=1", "t=2", "u"])).map(
            lambda pair: Part(f"({pair[0].jsgf}) {{{pair[1]}}}", pair[0].language)
        ),
    )


def _expansions(rules: list[Part]) -> st.SearchStrategy[Part]:
    leaves = [Part(word, frozenset({(word,)})) for word in WORDS] + [Part("<NULL>", EMPTY)] + rules
    return st.recursive(st.sampled_from(leaves), _wrapped, max_leaves=8)


@st.composite
def grammars(draw: st.DrawFn) -> Part:
    """The rules of a grammar (without header) and all it lets be said."""
    one = draw(_expansions([]))
    named = [Part("<one>", one.language)]
    two = draw(_expansions(named))
    top = draw(_expansions([*named, Part("<two>", two.language)]))
    return Part(f"public <top> = {top.jsgf};\n<two> = {two.jsgf};\n<one> = {one.jsgf};\n", top.language)
