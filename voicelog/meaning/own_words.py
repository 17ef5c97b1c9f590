"""The words file of a technician: nicknames of values, own tools and own risks."""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import RootModel

from voicelog.files import write_atomically
from voicelog.grammar.own_words import TOOL, OwnWord, OwnWords
from voicelog.meaning.spelling import normalise
from voicelog.toml_model import Text, load_toml, nearest_to, read_text, toml_text
from voicelog.vocabulary import CHOICES, DAMAGE_SLOTS

SLOTS = (*(slot for slot in DAMAGE_SLOTS if slot in CHOICES), "step", "tab", "direction", "tool_base",
         "risk", "time", "job", "quote", "by", "extra", "question")  # fmt: skip
"""Slots whose values may have nicknames; orders to the tool itself keep their own words."""
KINDS = ("tool", "risk")
"""What an own word may be instead of another name of a value."""
_PHRASE = re.compile(r"[a-z]['a-z-]*( [a-z]['a-z-]*)*")


class _Words(RootModel[dict[str, Text]]):
    """Phrase → value, "tool" or "risk"."""


def read_own_words(path: Path) -> tuple[OwnWords, tuple[str, ...]]:
    """A user's own words and, in one clause each, what is wrong with those that cannot be used.

    Raises:
        VoicelogError: the file cannot be read or is no table of texts.
    """
    if not path.exists():
        return (), ()
    found: list[OwnWord] = []
    wrong: list[str] = []
    for phrase, value in load_toml(_Words, path, todo="mend the words file").root.items():
        words = own_words(phrase, value)
        found += words
        if not words:
            wrong.append(why_none(phrase, value))
    return tuple(found), tuple(wrong)


def own_words(phrase: str, value: str) -> OwnWords:
    """A phrase with what it stands for: one word for each slot that has the value, none where none has it."""
    said = normalise(phrase)
    if not _PHRASE.fullmatch(said):
        return ()
    if value == "tool":
        return (OwnWord(said, TOOL, (TOOL,)),)
    if value == "risk":
        return (OwnWord(said, f"risk={CHOICES['risk'][0]}", ("once=own/risk", f"risk={said}")),)
    name = value.lower().replace(" ", "-")
    tags = [f"{slot}={name}" for slot in SLOTS if name in CHOICES[slot]]
    return tuple(OwnWord(said, tag, (tag,)) for tag in tags)


def why_none(phrase: str, value: str) -> str:
    """Why a phrase stands for nothing, a clause."""
    if not _PHRASE.fullmatch(normalise(phrase)):
        return f'"{phrase}" is no phrase in plain words'
    near = nearest_to(value, [*KINDS, *(known for slot in SLOTS for known in CHOICES[slot])])
    hint = f", did you mean {near}?" if near else ""
    return f'"{phrase}" = "{value}": no value of that name{hint}'


def write_own_word(path: Path, phrase: str, value: str) -> None:
    """Add a phrase to the words file, in place of what it stood for before."""
    lines = read_text(path).splitlines() if path.exists() else [HEAD]
    key = toml_text(phrase)
    kept = [line for line in lines if line.partition("=")[0].strip() != key]
    write_atomically(path, "\n".join([*kept, f"{key} = {toml_text(value)}", ""]).encode())


HEAD = '# Words of your own: "what you say" = "the value it stands for", "tool" or "risk"'
