"""Pronunciations: reading ARPAbet lexicons and picking the words a grammar needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from voicelog.errors import VoicelogError

Lexicon = dict[str, list[tuple[str, ...]]]
"""Each word's pronunciations, each a tuple of phones, the first one first."""

PHONES = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
)
PHONE_SET = frozenset(PHONES.split())
"""Phones of the bundled acoustic model: those of the CMU dictionary, without stress."""


def read_lexicon(path: Path, wanted: frozenset[str] | None = None) -> Lexicon:
    """Read a lexicon file in the format of the CMU dictionary.

    Args:
        path: one entry a line: the word, `(2)` and so on for further pronunciations,
            then its phones; `#` or `;;;` begins a comment line.
        wanted: keep only these words; None keeps all.

    Raises:
        VoicelogError: when the file cannot be read or a line has no phones.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise VoicelogError(f"the lexicon cannot be read ({error})", where=str(path)) from error
    lexicon: Lexicon = {}
    for number, line in enumerate(text.splitlines(), start=1):
        word = line.replace("\t", " ").partition(" ")[0].partition("(")[0].lower()
        if wanted is not None and word not in wanted:
            continue
        head, *phones = line.split("#", 1)[0].split() or [";;;"]
        if head.startswith(";;;"):
            continue
        if not phones:
            raise VoicelogError(
                f'"{head}" has no phones',
                where=f"{path}:{number}",
                todo="write them in ARPAbet after the word",
            )
        entry = lexicon.setdefault(word, [])
        if tuple(phones) not in entry:
            entry.append(tuple(phones))
    return lexicon


def merged(own: Mapping[str, list[tuple[str, ...]]], added: Mapping[str, list[tuple[str, ...]]]) -> Lexicon:
    """`own` with the words of `added` put in their place."""
    return {**own, **added}


def missing_words(words: Iterable[str], lexicon: Mapping[str, object]) -> list[str]:
    """The words that have no pronunciation, sorted."""
    return sorted(set(words) - set(lexicon))


def check_phones(lexicon: Lexicon, known: frozenset[str], where: str) -> None:
    """Refuse phones that the acoustic model does not have, all in one message."""
    wrong = {
        f"{phone} (in {word})"
        for word, entries in lexicon.items()
        for phones in entries
        for phone in phones
        if phone not in known
    }
    if wrong:
        raise VoicelogError(
            f"phones the acoustic model does not know: {', '.join(sorted(wrong))}",
            where=where,
            todo="use ARPAbet phones without stress marks",
        )


def write_dictionary(lexicon: Lexicon, path: Path) -> None:
    """Write a lexicon as a dictionary file that PocketSphinx loads."""
    lines = []
    for word in sorted(lexicon):
        for index, phones in enumerate(lexicon[word], start=1):
            head = word if index == 1 else f"{word}({index})"
            lines.append(f"{head} {' '.join(phones)}")
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
