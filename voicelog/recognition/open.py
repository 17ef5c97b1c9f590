"""The choice between the recognisers; the library of each is imported only when it is opened."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.grammar import OwnWords
from voicelog.recognition.engine import Engine


def open_engine(
    name: str | None = None,
    *,
    grammar: Path | str,
    lexicon: Path | str | None = None,
    model: Path | str | None = None,
    own: OwnWords = (),
    **options: Any,
) -> Engine:
    """Open a recogniser for a grammar.

    Args:
        name: "neural", "pocketsphinx", "vosk", or "auto" (also None): the neural one
            where it can be used, else PocketSphinx with its bundled model.
        grammar: a JSGF file.
        lexicon: pronunciations in ARPAbet, one a line (`word`, `word(2)`); its words
            replace those of the engine's own dictionary.  Vosk models carry their own
            and take none.
        model: a folder with another acoustic model (PocketSphinx) or the model (Vosk).
        own: words of a user's own, to be heard where their values are; PocketSphinx leaves out
            those it has no pronunciation for.
        options: passed to the engine.

    Raises:
        VoicelogError: for an unknown name, an unreadable grammar or lexicon, grammar
            words the engine does not know (all of them in one message), or a missing model.
    """
    if name in (None, "auto"):
        return _best(grammar, lexicon, {"own": own, **options})
    grammar_path = Path(grammar)
    lexicon_path = None if lexicon is None else Path(lexicon)
    if name == "neural":
        from voicelog.recognition.neural.engine import NeuralEngine

        return NeuralEngine(grammar_path, lexicon_path, model=model, own=own, **options)
    if name == "vosk":
        from voicelog.recognition.vosk.engine import VoskEngine

        return VoskEngine(grammar_path, lexicon_path, model=model, own=own, **options)
    if name == "pocketsphinx":
        from voicelog.recognition.pocketsphinx.engine import PocketSphinxEngine

        return PocketSphinxEngine(grammar_path, lexicon_path, model=model, own=own, **options)
    raise VoicelogError(
        f'no recogniser is called "{name}"', todo='use "auto", "neural", "pocketsphinx" or "vosk"'
    )


def _best(grammar: Path | str, lexicon: Path | str | None, options: dict[str, Any]) -> Engine:
    """The neural recogniser, or the plain one where its parts are missing or broken."""
    from voicelog.recognition.neural.model_files import HOW_TO_GET, find_model_files

    why = f"the neural recogniser is not installed; {HOW_TO_GET}"
    try:
        if find_model_files():
            engine = open_engine("neural", grammar=grammar, lexicon=lexicon, **options)
            engine.why = "it hears best"
            return engine
    except VoicelogError as error:
        why = f"the neural recogniser cannot be used: {error.line()}"
    engine = open_engine("pocketsphinx", grammar=grammar, lexicon=lexicon, own=options["own"])
    engine.why = why
    return engine
