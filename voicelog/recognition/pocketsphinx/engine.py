"""PocketSphinx behind the engine interface: grammar search with its bundled English model.

The answer is searched for in the part of the segment that holds the words, for three lengths of the
vocal tract; the one that fits best wins.  What the others say instead and a search without the answer
(the exact runner-up) tell how sure it is, and a loop of phones how well any speech sound fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any

from voicelog.grammar import load_grammar
from voicelog.recognition.calibration import calibration, logistic
from voicelog.recognition.engine import SAMPLE_RATE, Engine, Samples, Sound, Stream, samples_of
from voicelog.recognition.hypothesis import Alternative, HeardWord, Hypothesis
from voicelog.recognition.network import SearchNetwork, content_word, same_meaning, search_network
from voicelog.recognition.pocketsphinx.cepstra import Array, front_end, power_spectrum
from voicelog.recognition.pocketsphinx.decoder import (
    Found,
    add_network,
    drop_network,
    grammar_entries,
    open_decoder,
    search,
)
from voicelog.recognition.pocketsphinx.speech_bounds import FRAME, level_range, speech_bounds
from voicelog.recognition.pocketsphinx.stream import PocketSphinxStream

FRAME_S = 0.01
"""Length of an acoustic frame in seconds."""
MAIN, OTHER, PHONES, ALONE = "answer", "runner-up", "phones", "alone"
BEAMS = {"beam": 1e-60, "pbeam": 1e-60, "wbeam": 1e-40}
"""Wide enough to lose no answer, and the search still takes a twentieth of real time."""
FEATURES = {"-remove_noise": "no"}
"""A noise estimate carried from one segment to the next would make the same sound score differently; of
a hundred orders in kitchen noise 89 were right without it and 90 with it."""
OWN_FEATURES = {**FEATURES, "-cmn": "none"}
"""Our cepstra come without their mean already."""
WARPS = (0.9, 1.1)
"""Vocal tracts tried beside the model's own: of a hundred orders in kitchen noise at 12 dB the best of
three is right in 94 cases, the middle one alone in 90; of 342 trade sentences in 282 and 275."""
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
MOST_ALTERNATIVES = 3


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
        self._front = front_end(folder / "feat.params")
        entries = grammar_entries(self.network.words(), folder, lexicon, grammar)
        settings = {
            "hmm": str(folder), "lm": None, "bestpath": False, "loglevel": "FATAL", "maxhmmpf": MOST_HMMS,
            **BEAMS, **options,
        }  # fmt: skip
        self._calibration = calibration("pocketsphinx")
        self._decoder = open_decoder(entries, settings, OWN_FEATURES)
        add_network(self._decoder, MAIN, self.network)
        self._decoder.add_allphone_file(PHONES, str(folder.parent / "en-us-phone.lm.bin"))
        self._alone: Path | None = None
        # Partial results come while a whole may be decoded, so they have a decoder of their own.
        self._live_settings = entries, settings
        self._live: Any = None

    def only(self, grammar: Path | None) -> None:
        if grammar is not None and grammar != self._alone:
            add_network(self._decoder, ALONE, search_network(load_grammar(grammar).network()))
        self._alone = grammar

    def decode(self, sound: Sound) -> Hypothesis:
        samples = samples_of(sound)
        first, end = speech_bounds(samples)
        return self.decode_part(samples[first:end], first)

    def decode_part(self, samples: Samples, offset: int = 0) -> Hypothesis:
        """Decode sound that is nearly all speech; `offset` is where it starts in its segment, in samples."""
        if len(samples) < SHORTEST:
            return self._nothing()
        height = level_range(samples)
        power = power_spectrum(samples)
        if self._alone is not None:
            return self._decode_alone(power, height, offset)
        middle, start, end = self._spoken(power)
        power, offset = power[start:end], offset + start * FRAME
        tried = {1.0: middle} | {warp: self._search(MAIN, power, warp) for warp in WARPS}
        warp, found = best_of(tried)
        if not found.words:
            return self._nothing()
        cepstra = self._front.cepstra(power, warp)
        phones = search(self._decoder, PHONES, cepstra).score
        beside = [other for other in tried.values() if other is not found and other.words]
        rivals = [other for other in beside if not self._same(found, other)]
        agreeing = len(beside) - len(rivals)
        scores = raw_scores(found, rivals, agreeing, phones, height, len(power))
        if logistic(self._calibration.for_us, scores) > HOPELESS:
            rival = self._rival(found, cepstra)
            if rival is not None:
                # It may score better, since no search sees all paths; it is right less often even then.
                rivals.append(rival)
            scores = raw_scores(found, rivals, agreeing, phones, height, len(power))
        return self._answer(found, rivals, scores, offset)

    def _spoken(self, power: Array) -> tuple[Found, int, int]:
        """The answer of the model's own vocal tract, and the frames to keep: its words and a little more."""
        found = self._search(MAIN, power)
        if found.parts:
            start = max(0, found.parts[0].first - MARGIN_PAD)
            end = min(len(power), found.parts[-1].last + 1 + MARGIN_PAD)
            if len(power) - (end - start) > WORTH_CUTTING:
                again = self._search(MAIN, power[start:end])
                if again.words:
                    return again, start, end
        return found, 0, len(power)

    def _decode_alone(self, power: Array, height: float, offset: int) -> Hypothesis:
        """The answer of a small grammar, whose sentences have no rivals: how well its words fit tells."""
        warp, found = best_of({warp: self._search(ALONE, power, warp) for warp in (1.0, *WARPS)})
        if not found.words:
            return self._nothing()
        phones = search(self._decoder, PHONES, self._front.cepstra(power, warp)).score
        scores = raw_scores(found, [], 0, phones, height, len(power))
        confidence = logistic(self._calibration.alone, scores)
        times = tuple(timed(found, [], confidence, offset / SAMPLE_RATE))
        return Hypothesis(found.words, confidence, timings=times, engine=self.name, scores=scores)

    def _nothing(self) -> Hypothesis:
        return Hypothesis("", 0.0, engine=self.name)

    def stream(self, partials: bool = True) -> Stream:
        return PocketSphinxStream(self, partials)

    def live_decoder(self) -> Any:
        """The decoder for partial results, opened when first asked for."""
        if self._live is None:
            self._live = open_decoder(*self._live_settings, FEATURES)
            add_network(self._live, MAIN, self.network)
            self._live.activate_search(MAIN)
        return self._live

    def _search(self, name: str, power: Array, warp: float = 1.0) -> Found:
        return search(self._decoder, name, self._front.cepstra(power, warp))

    def _same(self, found: Found, other: Found) -> bool:
        return found.words == other.words or same_meaning(self.grammar, found.words, other.words)

    def _rival(self, found: Found, cepstra: Array) -> Found | None:
        """The best answer that means something else, on the same cepstra.

        After so many searches it may still say the same in other words: then it stands for a
        margin that is at least so large.
        """
        network: SearchNetwork | None = self.network
        rival = found
        try:
            for _ in range(MOST_RIVALS):
                network = network.excluding(rival.words.split(), content_word) if network else None
                if network is None:
                    return None
                add_network(self._decoder, OTHER, network)
                rival = search(self._decoder, OTHER, cepstra)
                if not rival.words:
                    return None
                if not same_meaning(self.grammar, found.words, rival.words):
                    break
        finally:
            # It is a tenth of all memory and of no use to the next segment.
            drop_network(self._decoder, OTHER)
        return rival

    def _answer(self, found: Found, rivals: list[Found], scores: dict[str, float], offset: int) -> Hypothesis:
        confidence = self._calibration.confidence(scores)
        rivals = sorted(rivals, key=lambda rival: -rival.score)
        return Hypothesis(
            found.words,
            confidence,
            alternatives=tuple(self._alternatives(found, rivals, confidence)),
            timings=tuple(timed(found, rivals[:1], confidence, offset / SAMPLE_RATE)),
            engine=self.name,
            scores=scores,
        )

    def _alternatives(self, found: Found, rivals: list[Found], confidence: float) -> Iterator[Alternative]:
        """The others, no two of one meaning; each takes half of the chance that is left."""
        left = 1 - confidence
        known = [found]
        for rival in rivals:
            if len(known) <= MOST_ALTERNATIVES and not any(self._same(rival, other) for other in known):
                known.append(rival)
                left /= 2
                yield Alternative(rival.words, min(confidence, left))


def best_of(tried: dict[float, Found]) -> tuple[float, Found]:
    """The warp under which the sound fits the network best, and what was found under it."""
    return max(tried.items(), key=lambda item: item[1].score)


def raw_scores(
    found: Found, rivals: list[Found], agreeing: int, phones: float, height: float, frames: int
) -> dict[str, float]:
    """What the confidence is made of; scores in units of the decoder, `height` in dB."""
    spoken = sum(part.last - part.first + 1 for part in found.parts)
    margin = min([NO_RIVAL, *(found.score - rival.score for rival in rivals)])
    return {
        "margin": margin,
        "root_margin": math.sqrt(max(0.0, margin)),
        "agreeing": float(agreeing),
        "phones_per_frame": max(-200.0, (found.score - phones) / frames),
        "acoustic_per_frame": sum(part.score for part in found.parts) / spoken,
        "worst_word": min(part.score / (part.last - part.first + 1) for part in found.parts),
        "level_range": height,
        "words": float(len(found.parts)),
        "seconds": frames * FRAME_S,
    }


def timed(found: Found, rivals: list[Found], confidence: float, offset_s: float) -> Iterator[HeardWord]:
    """The words with their times; the ones the runner-up has too are surer than the answer as a whole."""
    shared = {word for rival in rivals for word in rival.words.split()}
    for part in found.parts:
        own = confidence if part.word not in shared else max(confidence, 1 - (1 - confidence) / 4)
        first, last = part.first * FRAME_S, (part.last + 1) * FRAME_S
        yield HeardWord(part.word, round(offset_s + first, 3), round(offset_s + last, 3), own)
