"""One search of PocketSphinx: a decoder with its words, networks to search, and what was found."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.recognition.lexicon import (
    PHONE_SET,
    Lexicon,
    check_phones,
    merged,
    missing_words,
    read_lexicon,
    write_dictionary,
)
from voicelog.sound.format import Samples

LOG_BASE = math.log(1.0001)
"""Scores are whole numbers of this many nats; PocketSphinx hands them out as probabilities."""


@dataclass(frozen=True)
class Part:
    """A word of a search's result."""

    frames: int
    score: float
    """Acoustic score of the whole word."""


@dataclass(frozen=True)
class Found:
    """What one search found; no words when nothing reached an end of the grammar."""

    words: str = ""
    score: float = -1e9
    parts: tuple[Part, ...] = ()


def search(decoder: Any, name: str, samples: Samples) -> Found:
    """Search for the best path through the network `name`."""
    decoder.activate_search(name)
    decoder.start_utt()
    decoder.process_raw(samples.tobytes(), full_utt=True)
    decoder.end_utt()
    found = decoder.hyp()
    if found is None or not found.hypstr:
        return Found()
    parts = (
        Part(item.end_frame - item.start_frame + 1, score_of(item.ascore))
        for item in decoder.seg()
        if item.word[0] not in "<[(+"
    )
    return Found(found.hypstr, score_of(found.score), tuple(parts))


def score_of(chance: float) -> float:
    """A score as PocketSphinx counts it inside, from the probability it hands out."""
    return math.log(chance) / LOG_BASE if chance > 0 else -1e7


def grammar_entries(words: frozenset[str], folder: Path, lexicon: Path | None, grammar: Path) -> Lexicon:
    """The pronunciations of a grammar's words.

    Raises:
        VoicelogError: when words have none (all named in one message), or phones are unknown.
    """
    entries = _entries(words, folder, lexicon)
    missing = missing_words(words, entries)
    if missing:
        raise VoicelogError(
            f"no pronunciation for: {', '.join(missing)}",
            where=str(lexicon or grammar),
            todo="add them to the lexicon in ARPAbet",
        )
    return entries


def model_folder(model: Path | str | None) -> Path:
    """The acoustic model given, else the one that comes with PocketSphinx."""
    import pocketsphinx

    return Path(model) if model else Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"


def unspelled(words: Iterable[str], folder: Path, lexicon: Path | None) -> list[str]:
    """The words without a pronunciation; `folder` is the model's."""
    wanted = frozenset(words)
    return missing_words(wanted, _entries(wanted, folder, lexicon))


def _entries(words: frozenset[str], folder: Path, lexicon: Path | None) -> Lexicon:
    own = read_lexicon(folder.parent / "cmudict-en-us.dict", words)
    if lexicon is None:
        return own
    added = read_lexicon(lexicon, words)
    check_phones(added, PHONE_SET, str(lexicon))
    return merged(own, added)


def open_decoder(entries: Lexicon, settings: dict[str, Any], features: Mapping[str, str]) -> Any:
    """A PocketSphinx decoder that knows exactly these words.

    Args:
        entries: the words with their pronunciations.
        settings: decoder parameters; "hmm" names the model's folder.
        features: replaces what the model's `feat.params` says, which outranks the settings.

    Raises:
        VoicelogError: when the folder holds no model.
    """
    import pocketsphinx

    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        dictionary = Path(folder) / "words.dict"
        write_dictionary(entries, dictionary)
        parameters = Path(folder) / "feat.params"
        asked = {**read_parameters(Path(settings["hmm"]) / "feat.params"), **features}
        lines = (f"{name} {value}\n" for name, value in asked.items())
        parameters.write_text("".join(lines), encoding="utf-8")
        return pocketsphinx.Decoder(dict=str(dictionary), featparams=str(parameters), **settings)


def read_parameters(path: Path) -> dict[str, str]:
    """A model's `feat.params`: names with their dash, and values.

    Raises:
        VoicelogError: when the file cannot be read.
    """
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise VoicelogError(
            f"this folder holds no PocketSphinx model ({error.strerror})", where=str(path.parent)
        ) from error
    return dict(pair for line in lines if len(pair := line.split()) == 2)


def add_network(decoder: Any, name: str, fsg: str) -> None:
    """Give a decoder a search, a network in Sphinx FSG text.

    It goes through a file, because `create_fsg` follows no chains of silent steps.
    """
    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        path = Path(folder) / "network.fsg"
        path.write_text(fsg, encoding="utf-8")
        decoder.add_fsg(name, decoder.read_fsg(str(path)))
