"""PocketSphinx behind the engine interface: grammar search with its bundled English model.

The answer is searched for in the part of the segment that holds the words, with cepstral
means taken from that part; a search without the answer gives the runner-up, and a loop of
phones tells how well any speech sound fits.
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

from voicelog.errors import VoicelogError
from voicelog.grammar import load_grammar
from voicelog.recognition.calibration import calibration, logistic
from voicelog.recognition.engine import SAMPLE_RATE, Engine, Samples, Sound, Stream, samples_of
from voicelog.recognition.frontend import level_range, speech_bounds
from voicelog.recognition.hypothesis import Alternative, HeardWord, Hypothesis
from voicelog.recognition.lexicon import (
    PHONE_SET,
    Lexicon,
    check_phones,
    merged,
    missing_words,
    read_lexicon,
    write_dictionary,
)
from voicelog.recognition.network import SearchNetwork, content_word, same_meaning, search_network

FRAME_S = 0.01
FRAME = SAMPLE_RATE // 100
"""Length of an acoustic frame in seconds and in samples."""
MAIN, OTHER, PHONES = "answer", "runner-up", "phones"
LOG_BASE = math.log(1.0001)
"""Scores are whole numbers of this many nats; PocketSphinx hands them out as probabilities."""
BEAMS = {"beam": 1e-60, "pbeam": 1e-60, "wbeam": 1e-40}
"""Wide enough to lose no answer, and the search still takes a twentieth of real time."""
FEATURES = {"-remove_noise": "no"}
"""Replaces what the model's `feat.params` says, which outranks the decoder's own settings.  A noise
estimate carried from one segment to the next would make the same sound score differently; of a
hundred orders in kitchen noise 89 were right without it and 90 with it."""
MOST_HMMS = 6000
"""Phone models searched per frame at most: the bound on the time of a decode."""
SHORTEST = FRAME * 15
"""Samples of the shortest sound that is searched."""
MARGIN_PAD = 25
"""Frames kept around the words for the second pass."""
WORTH_CUTTING = 30
"""Frames of silence from which a second pass is worth its time."""
MOST_RIVALS = 2
"""Runner-up searches at most, where the first ones mean the same as the answer."""
HOPELESS = 0.02
"""Chance of being meant for us below which no runner-up is searched for."""
NO_RIVAL = 3000.0
"""Margin when the grammar has nothing else to say."""


@dataclass(frozen=True)
class Part:
    """A word of a decode; frames from the start of the sound decoded."""

    word: str
    first: int
    last: int
    score: float
    """Acoustic score of the whole word."""


@dataclass(frozen=True)
class Found:
    """What one search found; no words when nothing reached an end of the grammar."""

    words: str = ""
    score: float = -1e9
    parts: tuple[Part, ...] = ()


class PocketSphinxEngine(Engine):
    """Grammar search with the exact runner-up."""

    def __init__(
        self, grammar: Path, lexicon: Path | None = None, *, model: Path | str | None = None, **options: Any
    ) -> None:
        """See `open_engine`; `options` are decoder parameters that replace ours."""
        import pocketsphinx

        self.name = f"pocketsphinx {version('pocketsphinx')}"
        self.grammar = load_grammar(grammar).network()
        self.network = search_network(self.grammar)
        folder = Path(model) if model else Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"
        entries = grammar_entries(self.network.words(), folder, lexicon, grammar)
        settings = {
            "hmm": str(folder), "lm": None, "bestpath": False, "loglevel": "FATAL", "maxhmmpf": MOST_HMMS,
            **BEAMS, **options,
        }  # fmt: skip
        self._calibration = calibration("pocketsphinx")
        self._decoder = open_decoder(entries, settings)
        add_network(self._decoder, MAIN, self.network)
        self._decoder.add_allphone_file(PHONES, str(folder.parent / "en-us-phone.lm.bin"))
        # A decoder that once took a segment in pieces keeps its means from then on, so partial
        # results have a decoder of their own.
        self._live_settings = entries, settings
        self._live: Any = None

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        first, end = speech_bounds(samples)
        return self.decode_part(samples[first:end], first)

    def decode_part(self, samples: Samples, offset: int = 0) -> Hypothesis:
        """Decode sound that is nearly all speech; `offset` is where it starts in its segment, in samples."""
        if len(samples) < SHORTEST:
            return Hypothesis("", 0.0, engine=self.name)
        height = level_range(samples)
        found = self._search(MAIN, samples)
        if found.parts:
            start = max(0, found.parts[0].first - MARGIN_PAD)
            end = found.parts[-1].last + 1 + MARGIN_PAD
            if len(samples) // FRAME - (end - start) > WORTH_CUTTING:
                cut = samples[start * FRAME : end * FRAME]
                again = self._search(MAIN, cut)
                if again.words:
                    found, samples, offset = again, cut, offset + start * FRAME
        if not found.words:
            return Hypothesis("", 0.0, engine=self.name)
        phones = self._search(PHONES, samples).score
        rival = Found(score=found.score)
        if logistic(self._calibration.for_us, raw_scores(found, rival, phones, height, samples)) > HOPELESS:
            rival = self._rival(found, samples)
        if rival.score > found.score:
            # The first search lost the better answer to its beams.
            found, rival = rival, found
        return self._answer(found, rival, raw_scores(found, rival, phones, height, samples), offset)

    def stream(self) -> Stream:
        return PocketSphinxStream(self)

    def live_decoder(self) -> Any:
        """The decoder for partial results, opened when first asked for."""
        if self._live is None:
            self._live = open_decoder(*self._live_settings)
            add_network(self._live, MAIN, self.network)
            self._live.activate_search(MAIN)
        return self._live

    def _search(self, search: str, samples: Samples) -> Found:
        self._decoder.activate_search(search)
        self._decoder.start_utt()
        self._decoder.process_raw(samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        if found is None or not found.hypstr:
            return Found()
        return Found(found.hypstr, score_of(found.score), tuple(self._parts()))

    def _parts(self) -> Iterator[Part]:
        for item in self._decoder.seg():
            if item.word[0] not in "<[(+":
                yield Part(bare(item.word), item.start_frame, item.end_frame, score_of(item.ascore))

    def _rival(self, found: Found, samples: Samples) -> Found:
        """The best answer that means something else."""
        network: SearchNetwork | None = self.network
        rival = found
        for _ in range(MOST_RIVALS):
            network = network.excluding(rival.words.split(), content_word) if network else None
            if network is None:
                return Found(score=found.score - NO_RIVAL)
            add_network(self._decoder, OTHER, network)
            rival = self._search(OTHER, samples)
            if not rival.words:
                return Found(score=found.score - NO_RIVAL)
            if not same_meaning(self.grammar, found.words, rival.words):
                break
        return rival

    def _answer(self, found: Found, rival: Found, scores: dict[str, float], offset: int) -> Hypothesis:
        confidence = self._calibration.confidence(scores)
        return Hypothesis(
            found.words,
            confidence,
            alternatives=self._alternatives(rival, confidence),
            timings=tuple(timed(found, rival, confidence, offset / SAMPLE_RATE)),
            engine=self.name,
            scores=scores,
        )

    def _alternatives(self, rival: Found, confidence: float) -> tuple[Alternative, ...]:
        if not rival.words:
            return ()
        return (Alternative(rival.words, min(confidence, (1 - confidence) / 2)),)


class PocketSphinxStream(Stream):
    """Partial results as the sound comes, and the answer of the whole segment at its end.

    The whole is decoded as soon as the speaker pauses, so that the answer is there when the
    pause has become long enough to be the end.
    """

    GROWTH = 1.25
    """A second look ahead waits until the segment is so much longer: bounded work in restless noise."""

    def __init__(self, engine: PocketSphinxEngine) -> None:
        super().__init__()
        self._engine = engine
        self._ahead: tuple[int, int] | None = None
        self._looked_at = 0
        self._answer: Hypothesis | None = None
        self._decoder = engine.live_decoder()
        self._decoder.start_utt()
        self._open = True

    def feed(self, sound: Sound) -> str:
        chunk = samples_of(sound)
        self._chunks.append(chunk)
        self._decoder.process_raw(chunk.tobytes(), full_utt=False)
        found = self._decoder.hyp()
        if found is not None and found.hypstr:
            self._look_ahead()
            return str(found.hypstr)
        return ""

    def finish(self) -> Hypothesis:
        self.close()
        samples = self.samples()
        bounds = speech_bounds(samples)
        if bounds != self._ahead or self._answer is None:
            self._answer = self._engine.decode(samples)
        return self._answer

    def close(self) -> None:
        if self._open:
            self._decoder.end_utt()
            self._open = False

    def _look_ahead(self) -> None:
        samples = self.samples()
        bounds = speech_bounds(samples)
        longer = self._ahead is None or len(samples) > self.GROWTH * self._looked_at
        if longer and bounds[1] + FRAME <= len(samples) and bounds != self._ahead:
            self._looked_at = len(samples)
            self._ahead = bounds
            self._answer = self._engine.decode_part(samples[slice(*bounds)], bounds[0])


def raw_scores(
    found: Found, rival: Found, phones: float, height: float, samples: Samples
) -> dict[str, float]:
    """What the confidence is made of; scores in units of the decoder, `height` in dB."""
    frames = len(samples) // FRAME
    spoken = sum(part.last - part.first + 1 for part in found.parts)
    margin = min(NO_RIVAL, found.score - rival.score)
    return {
        "margin": margin,
        "root_margin": math.sqrt(max(0.0, margin)),
        "margin_per_frame": margin / frames,
        "phones_per_frame": max(-200.0, (found.score - phones) / frames),
        "acoustic_per_frame": sum(part.score for part in found.parts) / spoken,
        "worst_word": min(part.score / (part.last - part.first + 1) for part in found.parts),
        "level_range": height,
        "words": float(len(found.parts)),
        "seconds": frames * FRAME_S,
    }


def timed(found: Found, rival: Found, confidence: float, offset_s: float) -> Iterator[HeardWord]:
    """The words with their times; the ones the runner-up has too are surer than the answer as a whole."""
    shared = set(rival.words.split())
    for part in found.parts:
        own = confidence if part.word not in shared else max(confidence, 1 - (1 - confidence) / 4)
        first, last = part.first * FRAME_S, (part.last + 1) * FRAME_S
        yield HeardWord(part.word, round(offset_s + first, 3), round(offset_s + last, 3), own)


def score_of(chance: float) -> float:
    """A score as PocketSphinx counts it inside, from the probability it hands out."""
    return math.log(chance) / LOG_BASE if chance > 0 else -1e7


def bare(word: str) -> str:
    """A word without the number of its pronunciation, as in `a(2)`."""
    return word.split("(", 1)[0]


def grammar_entries(words: frozenset[str], folder: Path, lexicon: Path | None, grammar: Path) -> Lexicon:
    """The pronunciations of a grammar's words.

    Raises:
        VoicelogError: when words have none (all named in one message), or phones are unknown.
    """
    own = read_lexicon(folder.parent / "cmudict-en-us.dict", words)
    entries = own
    if lexicon is not None:
        added = read_lexicon(lexicon, words)
        check_phones(added, PHONE_SET, str(lexicon))
        entries = merged(own, added)
    missing = missing_words(words, entries)
    if missing:
        raise VoicelogError(
            f"no pronunciation for: {', '.join(missing)}",
            where=str(lexicon or grammar),
            todo="add them to the lexicon in ARPAbet",
        )
    return entries


def open_decoder(entries: Lexicon, settings: dict[str, Any]) -> Any:
    """A PocketSphinx decoder that knows exactly these words; `settings` name the model's folder as "hmm"."""
    import pocketsphinx

    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        dictionary = Path(folder) / "words.dict"
        write_dictionary(entries, dictionary)
        features = Path(folder) / "feat.params"
        features.write_text(feature_settings(Path(settings["hmm"]) / "feat.params"), encoding="utf-8")
        return pocketsphinx.Decoder(dict=str(dictionary), featparams=str(features), **settings)


def feature_settings(path: Path) -> str:
    """The feature settings of a model with ours in their place."""
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except OSError as error:
        raise VoicelogError(
            f"this folder holds no PocketSphinx model ({error})", where=str(path.parent)
        ) from error
    kept = [line for line in lines if line.split() and line.split()[0] not in FEATURES]
    return "\n".join([*kept, *(f"{name} {value}" for name, value in FEATURES.items()), ""])


def add_network(decoder: Any, name: str, network: SearchNetwork) -> None:
    """Give a decoder a search; through a file, because `create_fsg` follows no chains of silent steps."""
    with tempfile.TemporaryDirectory(prefix="voicelog-") as folder:
        path = Path(folder) / "network.fsg"
        path.write_text(network.fsg(name), encoding="utf-8")
        decoder.add_fsg(name, decoder.read_fsg(str(path)))
