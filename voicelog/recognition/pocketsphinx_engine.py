"""PocketSphinx behind the engine interface: grammar search with its bundled English model."""

from __future__ import annotations

import re
import tempfile
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np

from voicelog.errors import VoicelogError
from voicelog.recognition.engine import Engine, Samples, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import HeardWord, Hypothesis
from voicelog.recognition.lexicon import Lexicon, merged, missing_words, read_lexicon, write_dictionary

FRAME_S = 0.01
"""Length of an acoustic frame in seconds."""
SEARCH = "grammar"


class PocketSphinxEngine(Engine):
    """Grammar search over the whole segment, with cepstral means taken from the segment itself."""

    def __init__(
        self, grammar: Path, lexicon: Path | None = None, *, model: Path | str | None = None, **options: Any
    ) -> None:
        """See `open_engine`; `options` are decoder parameters that replace ours."""
        import pocketsphinx

        self.name = f"pocketsphinx {version('pocketsphinx')}"
        folder = Path(model) if model else Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"
        fsg = grammar_fsg(grammar)
        words = fsg_words(fsg)
        own = read_lexicon(folder.parent / "cmudict-en-us.dict", words)
        entries = merged(own, read_lexicon(lexicon, words) if lexicon else {})
        check_words(words, entries, grammar)
        settings = {"hmm": str(folder), "lm": None, "bestpath": False, "loglevel": "FATAL", **options}
        self._decoder = open_decoder(entries, settings)
        self._decoder.add_fsg(SEARCH, fsg)
        self._decoder.activate_search(SEARCH)

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        return self._answer()

    def stream(self) -> Stream:
        return PocketSphinxStream(self)

    def _answer(self) -> Hypothesis:
        found = self._decoder.hyp()
        if found is None or not found.hypstr:
            return Hypothesis("", 0.0, engine=self.name)
        timings = tuple(
            HeardWord(bare(part.word), part.start_frame * FRAME_S, (part.end_frame + 1) * FRAME_S, 1.0)
            for part in self._decoder.seg()
            if part.word[0] not in "<[(+"
        )
        return Hypothesis(found.hypstr, 1.0, timings=timings, engine=self.name)


class PocketSphinxStream(Stream):
    """Collects the segment; the answer is the engine's decode of all of it."""

    def __init__(self, engine: PocketSphinxEngine) -> None:
        super().__init__()
        self._engine = engine

    def feed(self, sound: Sound) -> str:
        self._chunks.append(samples_of(sound))
        return ""

    def finish(self) -> Hypothesis:
        joined: Samples = np.concatenate(self._chunks) if self._chunks else np.zeros(0, np.int16)
        return self._engine.decode(joined)


def bare(word: str) -> str:
    """A word without the number of its pronunciation, as in `a(2)`."""
    return word.split("(", 1)[0]


def open_decoder(entries: Lexicon, settings: dict[str, Any]) -> Any:
    """A PocketSphinx decoder that knows exactly these words."""
    import pocketsphinx

    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        dictionary = Path(folder) / "words.dict"
        write_dictionary(entries, dictionary)
        return pocketsphinx.Decoder(dict=str(dictionary), **settings)


def check_words(words: frozenset[str], entries: Lexicon, grammar: Path) -> None:
    """Refuse a grammar with words that have no pronunciation, naming all of them."""
    missing = missing_words(words, entries)
    if missing:
        raise VoicelogError(
            f"no pronunciation for: {', '.join(missing)}",
            where=str(grammar),
            todo="add them to the lexicon in ARPAbet",
        )


def grammar_fsg(grammar: Path) -> Any:
    """The network of a grammar's first public rule."""
    import pocketsphinx

    try:
        text = grammar.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise VoicelogError(f"the grammar cannot be read ({error})", where=str(grammar)) from error
    public = re.search(r"public\s+<([^>]+)>", text)
    if public is None:
        raise VoicelogError("the grammar has no public rule", where=str(grammar))
    parsed = pocketsphinx.Jsgf(str(grammar))
    rule = parsed.get_rule(f"{parsed.get_name()}.{public[1]}")
    return parsed.build_fsg(rule, pocketsphinx.LogMath(), 6.5)


def fsg_words(fsg: Any) -> frozenset[str]:
    """Every word of a network."""
    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        path = Path(folder) / "grammar.fsg"
        fsg.writefile(str(path))
        lines = path.read_text(encoding="utf-8").splitlines()
    return frozenset(
        fields[4]
        for fields in (line.split() for line in lines)
        if len(fields) == 5 and fields[0] == "TRANSITION"
    )
