"""Cut, merged and made-up utterances by detector and silence window: `python -m tests.speech.endpointing`.

No words are recognised: only where utterances begin and end is looked at, on the sets outsiders and
pauses clean and in noise, and on sound that is not for us, where segments are what a recogniser would
have to turn away.  What is complete (an order, a question) ends sooner in the real loop.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path

from tests.speech.benchmark import noise_named
from tests.speech.hearing import SimulatedTime, overlap
from tests.speech.noise import RATE, Samples, mixed
from tests.speech.recordings import Recording, read_corpus, read_sound
from tests.speech.rows import percentile
from tests.speech.sets import make
from voicelog.listening import Segment, Segmenter, SegmenterSettings, SpeechEnded, events_of
from voicelog.listening.voice_activity import NeuralActivity, VoiceActivity

DETECTORS = {"neural": NeuralActivity, "pocketsphinx": VoiceActivity}
EDGE_S = 0.02
"""An utterance whose segment begins so much after it, or ends before it, has lost some of its sound."""


class Count:
    """What became of the utterances of several recordings."""

    def __init__(self) -> None:
        self.utterances = self.cut = self.merged = self.missed = self.clipped = self.unsaid = 0
        self.late: list[float] = []
        self.seconds = self.unsaid_s = self.spent_s = 0.0

    def add(self, recording: Recording, found: list[Segment]) -> None:
        """Lay the segments beside what was said."""
        utterances = recording.said or ()
        for said in utterances:
            self.utterances += 1
            mine = [segment for segment in found if overlap(said, segment) > 0.1]
            if not mine:
                self.missed += 1
                continue
            most = max(mine, key=lambda segment: overlap(said, segment))
            self.cut += len(mine) > 1
            self.merged += sum(overlap(other, most) > 0.1 for other in utterances) > 1
            whole = most.start_s <= said.start_s + EDGE_S and most.end_s >= said.end_s - EDGE_S
            self.clipped += len(mine) == 1 and not whole
            self.late.append(most.speech_end_s - said.end_s)
        for segment in found:
            if not any(overlap(said, segment) > 0.1 for said in utterances):
                self.unsaid += 1
                self.unsaid_s += segment.end_s - segment.start_s

    def line(self) -> str:
        """All counts in one line."""
        late = ""
        if self.late:
            half, most = percentile(self.late, 0.5), percentile(self.late, 0.95)
            late = f"end taken {half:+.2f} s, 95 % {most:+.2f} s off; "
        return (
            f"{self.utterances:4} utterances: cut {self.cut}, merged {self.merged}, missed {self.missed}, "
            f"edges lost {self.clipped}; unsaid segments {self.unsaid} ({self.unsaid_s:.0f} s); {late}"
            f"{1000 * self.spent_s / self.seconds:.1f} ms a second"
        )


def counted(
    recordings: list[Recording], detector: str, silence_s: float, noise: Samples | None, snr_db: float
) -> Count:
    """Cut recordings into segments and count."""
    count = Count()
    for recording in recordings:
        sound = read_sound(recording.path)
        if noise is not None:
            sound = mixed(sound, noise, snr_db, seed=3)
        segmenter = Segmenter(SegmenterSettings(silence_s=silence_s), DETECTORS[detector]())
        began = time.process_time()
        events = list(events_of(SimulatedTime(recording.path.name, sound), segmenter))
        count.spent_s += time.process_time() - began
        count.seconds += len(sound) / RATE
        count.add(recording, [event.segment for event in events if isinstance(event, SpeechEnded)])
    return count


def noises(people: Path | None) -> Iterator[tuple[str, Samples | None]]:
    """Silence, and what is mixed in."""
    yield "clean", None
    yield "compressor", noise_named("compressor", [])
    if people is not None:
        yield "kitchen", noise_named(str(people / "noise_kitchen.flac"), [])


def main() -> None:
    """Print a line for each set, noise, detector and window."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--silence", type=float, action="append", help="seconds; default 1.05")
    parser.add_argument("--snr", type=float, default=12.0)
    parser.add_argument("--split", default="held")
    parser.add_argument("--people", type=Path, help="folder of orders by real people with noise_kitchen.flac")
    given = parser.parse_args()
    for name in ("outsiders", "pauses", "not-for-us"):
        corpus = read_corpus(make(name, people=given.people))
        recordings = [item for item in corpus.recordings if item.split == given.split]
        for label, noise in noises(given.people) if name != "not-for-us" else [("", None)]:
            for silence in given.silence or [1.05]:
                for detector in DETECTORS:
                    count = counted(recordings, detector, silence, noise, given.snr)
                    print(f"{name} {label} {silence} s {detector:12} {count.line()}", flush=True)


if __name__ == "__main__":
    main()
