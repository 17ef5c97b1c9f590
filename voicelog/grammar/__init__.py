"""The grammar room: JSGF files to a word network, and the four uses of that network."""

from voicelog.grammar.jsgf import GrammarError
from voicelog.grammar.language import Grammar, Network, load_grammar
from voicelog.grammar.match import Node, Parse, Stop, Tag
from voicelog.grammar.own_words import OwnWord, OwnWords
from voicelog.grammar.sample import Sample

__all__ = [
    "Grammar", "GrammarError", "Network", "Node", "OwnWord", "OwnWords", "Parse", "Sample", "Stop", "Tag",
    "load_grammar",
]  # fmt: skip
