"""How well a recogniser hears: `python -m tests.speech.benchmark FOLDER [options]`.

Prints, for each voice and noise level, the word error rate, the share of sentences with all
slots right, asked and rejected, silent errors, false accepts an hour, cost and latency, and
whether the confidence means what it says.  `python -m tests.speech.benchmark --help` lists the options.
"""

from __future__ import annotations

import argparse
import difflib
import json
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

import jiwer
import numpy as np

from tests.speech.noise import MADE, RATE, Samples, babble, mixed
from tests.speech.recordings import SOUNDS, Corpus, Recording, pieces, read_corpus, read_sound
from voicelog.grammar import Network, load_grammar
from voicelog.recognition.calibration import calibration
from voicelog.recognition.engine import Engine, open_engine
from voicelog.recognition.hypothesis import Hypothesis
from voicelog.recognition.network import same_meaning

CHUNK = RATE // 10
HOUR = 3600.0
MADE_S = 60.0
"""Length of each made noise that is not for us."""
TRAILING_S = 0.6
"""Silence after which a segment ends."""


@dataclass
class Row:
    """What was heard in one recording at one noise level."""

    file: str
    voice: str
    split: str
    noise: str
    for_us: bool
    said: str
    heard: str
    right: bool
    confidence: float
    alternatives: list[str]
    alternative_right: bool
    seconds: float
    cpu_s: float
    latency_s: float | None = None
    scores: dict[str, float] = field(default_factory=dict)
    slots: tuple[int, int, int] = (0, 0, 0)
    """Said, said and heard, heard but not said; counted in tags where the manifest gives words."""
    chances: list[float] = field(default_factory=list)
    """Confidence of each alternative."""


def slots_of(network: Network, words: str, names: set[str]) -> dict[str, str] | None:
    """The words of each named rule in the likeliest parse; None when it is no sentence."""
    said = words.split()
    parses = network.match(said, 1)
    if not parses:
        return None
    return {
        name: " ".join(said[node.start : node.end]) for name in names for node in parses[0].root.find(name)
    }


def is_right(network: Network, recording: Recording, heard: str, names: set[str]) -> bool:
    """Whether what was heard means what was said."""
    if recording.slots is not None:
        return slots_of(network, heard, names) == recording.slots
    said = recording.words or ""
    return heard == said or (bool(heard) and same_meaning(network, said, heard))


def slot_counts(network: Network, recording: Recording, heard: str, names: set[str]) -> tuple[int, int, int]:
    """How many slots were said, heard as said, and heard without being said."""
    if recording.slots is not None:
        found = slots_of(network, heard, names) or {}
        same = sum(found.get(name) == words for name, words in recording.slots.items())
        return len(recording.slots), same, len(found.keys() - recording.slots.keys())
    said, answered = ([tag.text for parse in network.match(words.split(), 1) for tag in parse.tags()]
                      for words in (recording.words or "", heard))  # fmt: skip
    blocks = difflib.SequenceMatcher(None, said, answered, autojunk=False).get_matching_blocks()
    same = sum(block.size for block in blocks)
    return len(said), same, max(0, len(answered) - len(said))


def in_time(engine: Engine, samples: Samples) -> tuple[Hypothesis, float]:
    """The answer to a segment, and how many seconds after its end it came, if chunks came in real time."""
    ready = 0.0
    with engine.stream(partials=False) as stream:
        for first in range(0, len(samples), CHUNK):
            started = time.process_time()
            stream.feed(samples[first : first + CHUNK])
            ready = max(ready, (first + CHUNK) / RATE) + time.process_time() - started
        started = time.process_time()
        answer = stream.finish()
        return answer, ready + time.process_time() - started - len(samples) / RATE


def latency(engine: Engine, samples: Samples) -> float:
    """Seconds from the end of the silence window to the answer."""
    return in_time(engine, np.concatenate([samples, np.zeros(int(TRAILING_S * RATE), np.int16)]))[1]


def measure(
    engine: Engine, network: Network, corpus: Corpus, noise: str, sounds: list[Samples], timed: bool = False
) -> Iterator[Row]:
    """Decode every recording; `sounds` holds their samples with noise mixed in."""
    names = {name for item in corpus.recordings if item.slots for name in item.slots}
    for recording, samples in zip(corpus.recordings, sounds, strict=True):
        started = time.process_time()
        answer = engine.decode(samples)
        spent = time.process_time() - started
        others = [item.words for item in answer.alternatives]
        yield Row(
            recording.path.name, recording.voice, recording.split, noise, recording.for_us,
            recording.words if recording.slots is None else json.dumps(recording.slots),
            answer.words, recording.for_us and is_right(network, recording, answer.words, names),
            answer.confidence, others,
            recording.for_us and any(is_right(network, recording, words, names) for words in others),
            len(samples) / RATE, spent, latency(engine, samples) if timed else None, dict(answer.scores),
            slot_counts(network, recording, answer.words, names) if recording.for_us else (0, 0, 0),
            [item.confidence for item in answer.alternatives],
        )  # fmt: skip


def report(rows: list[Row], accept: float, reject: float) -> str:
    """The table of one group of rows."""
    ours = [row for row in rows if row.for_us]
    foreign = [row for row in rows if not row.for_us]
    seconds = sum(row.seconds for row in rows)
    lines = [f"  recordings {len(rows)}, {seconds / 60:.1f} min, real-time factor "
             f"{sum(row.cpu_s for row in rows) / seconds:.3f}"]  # fmt: skip
    if ours:
        taken = [row for row in ours if row.heard and row.confidence >= accept]
        asked = [row for row in ours if row.heard and reject <= row.confidence < accept]
        wrong = [row for row in taken if not row.right]
        lines.append(
            f"  right {share(sum(row.right for row in ours), len(ours))}, "
            f"accepted {share(len(taken), len(ours))}, asked {share(len(asked), len(ours))}, "
            f"rejected {share(len(ours) - len(taken) - len(asked), len(ours))}, "
            f"silent errors {share(len(wrong), len(taken))} of accepted"
        )
        asked_wrong = [row for row in asked if not row.right]
        lines.append(
            f"  asked although right {share(len(asked) - len(asked_wrong), len(asked))}; "
            f"right answer among the alternatives of a wrong one that was asked "
            f"{share(sum(row.alternative_right for row in asked_wrong), len(asked_wrong))}"
        )
        said = [row for row in ours if row.said and not row.said.startswith("{")]
        if said:
            rate = jiwer.wer([row.said for row in said], [row.heard for row in said])
            lines.append(f"  word error rate {100 * rate:.1f} %, exact "
                         f"{share(sum(row.said == row.heard for row in said), len(said))}")  # fmt: skip
        slots, same, more = (sum(row.slots[place] for row in ours) for place in range(3))
        if slots:
            lines.append(f"  slots right {share(same, slots)}, and {more} heard that were not said")
        late = sorted(row.latency_s for row in ours if row.latency_s is not None)
        if late:
            lines.append(f"  end of silence window to answer: median {late[len(late) // 2]:.2f} s, "
                         f"95th percentile {late[int(0.95 * (len(late) - 1))]:.2f} s")  # fmt: skip
    if foreign:
        taken = [row for row in foreign if row.heard and row.confidence >= accept]
        asked = [row for row in foreign if row.heard and reject <= row.confidence < accept]
        hours = sum(row.seconds for row in foreign) / HOUR
        lines.append(
            f"  not for us: {len(foreign)} segments, false accepts {len(taken) / hours:.1f} an hour, "
            f"questions {len(asked) / hours:.1f} an hour ({len(taken)} and {len(asked)} in {hours:.3f} h)"
        )
    return "\n".join(lines)


def calibration_table(rows: list[Row]) -> str:
    """Stated confidence against the share that was right."""
    bins: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        if row.heard:
            bins[min(9, int(row.confidence * 10))].append(row)
    lines = ["  confidence  answers  mean stated  right"]
    for place in sorted(bins):
        found = bins[place]
        stated = sum(row.confidence for row in found) / len(found)
        lines.append(
            f"  {place / 10:.1f} - {place / 10 + 0.1:.1f}  {len(found):7}  {100 * stated:9.1f} %"
            f"  {100 * sum(row.right for row in found) / len(found):5.1f} %"
        )
    return "\n".join(lines)


def share(part: int, whole: int) -> str:
    """A share in percent with its count."""
    return f"{100 * part / whole:.1f} % ({part}/{whole})" if whole else "none"


def noisy(sounds: list[Samples], noise: Samples | None, snr_db: float | None, seed: int) -> list[Samples]:
    """The sounds with noise mixed in, each with its own stretch."""
    if noise is None or snr_db is None:
        return sounds
    return [mixed(sound, noise, snr_db, seed + place) for place, sound in enumerate(sounds)]


def noise_named(name: str, voices: list[Samples]) -> Samples:
    """A recorded noise by its path, or a made one by its name."""
    if name == "babble":
        return babble(voices, 60.0, seed=11)
    return MADE[name](60.0, seed=11) if name in MADE else read_sound(Path(name))


def foreign(folder: Path | None, made: bool) -> tuple[Corpus, list[Samples]]:
    """Sound that is not for us: a folder of recordings, and made noises if asked for."""
    recordings, sounds = [], []
    for path in sorted(folder.rglob("*")) if folder else []:
        if path.suffix in SOUNDS:
            for piece in pieces(read_sound(path)):
                recordings.append(Recording(path, "", voice="not for us"))
                sounds.append(piece)
    for name, make in MADE.items() if made else ():
        for piece in pieces(make(MADE_S, seed=5)):
            recordings.append(Recording(Path(name), "", voice=f"not for us: {name}"))
            sounds.append(piece)
    return Corpus(recordings), sounds


def arguments() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.speech.benchmark", description=__doc__)
    parser.add_argument("folder", type=Path, help="folder of recordings with manifest.json or labels.json")
    parser.add_argument("--manifest", type=Path)
    parser.add_argument("--grammar", type=Path)
    parser.add_argument("--lexicon", type=Path)
    parser.add_argument("--engine", default="pocketsphinx")
    parser.add_argument("--model", type=Path)
    parser.add_argument("--noise", help=f"a recording, or one of babble, {', '.join(MADE)}")
    parser.add_argument("--snr", type=float, action="append", help="dB; may be given several times")
    parser.add_argument("--no-clean", action="store_true", help="only with noise")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--first", type=int, default=0, help="leave out the recordings before this one")
    parser.add_argument("--count", type=int, help="at most this many recordings")
    parser.add_argument("--split", help="only recordings of this split")
    parser.add_argument("--latency", action="store_true", help="also measure the streaming form")
    parser.add_argument("--not-for-us", action="store_true", help="also made noises")
    parser.add_argument("--foreign", type=Path, help="folder of recordings that are not for us")
    parser.add_argument("--voices", action="store_true", help="a table for each voice too")
    parser.add_argument("--errors", action="store_true", help="list what was wrong")
    parser.add_argument("--rows", type=Path, help="write every answer with its raw scores as JSON")
    parser.add_argument("--from-rows", type=Path, help="decode nothing: report such a file anew")
    return parser.parse_args()


def chosen(corpus: Corpus, given: argparse.Namespace) -> Corpus:
    """The recordings the command line asks for."""
    found = [item for item in corpus.recordings if given.split in (None, item.split)]
    last = None if given.count is None else given.first + given.count
    return Corpus(found[given.first : last], given.grammar or corpus.grammar, given.lexicon or corpus.lexicon)


def heard(given: argparse.Namespace, corpus: Corpus, engine: Engine) -> list[Row]:
    """Decode what the command line asks for."""
    assert corpus.grammar is not None
    network = load_grammar(corpus.grammar).network()
    clean = [read_sound(item.path) for item in corpus.recordings]
    levels: list[float | None] = [] if given.no_clean else [None]
    levels += given.snr or []
    noise = noise_named(given.noise, clean) if given.noise else None
    rows: list[Row] = []
    for level in levels:
        label = "clean" if level is None else f"{Path(given.noise).stem} {level:g} dB"
        sounds = noisy(clean, noise, level, given.seed)
        rows += measure(engine, network, corpus, label, sounds, given.latency)
    if given.not_for_us or given.foreign:
        others, sounds = foreign(given.foreign, given.not_for_us)
        rows += measure(engine, network, others, "not for us", sounds)
    return rows


def rescored(path: Path, engine: str) -> list[Row]:
    """Rows written before, with the confidence of the calibration as it is now."""
    rows = [Row(**item) for item in json.loads(path.read_text(encoding="utf-8"))]
    for row in rows:
        if row.heard:
            row.confidence = calibration(engine).confidence(row.scores)
    return rows


def main() -> None:
    """Run the benchmark."""
    given = arguments()
    if given.from_rows:
        name, rows = given.engine, rescored(given.from_rows, given.engine)
    else:
        corpus = chosen(read_corpus(given.folder, given.manifest), given)
        if corpus.grammar is None:
            raise SystemExit("the manifest names no grammar; give --grammar")
        engine = open_engine(given.engine, grammar=corpus.grammar, lexicon=corpus.lexicon, model=given.model)
        name, rows = engine.name, heard(given, corpus, engine)
    if given.rows:
        given.rows.write_text(json.dumps([asdict(row) for row in rows]), encoding="utf-8")
    limits = calibration(name.split()[0])
    print(f"{name}, accepted from {limits.accept}, rejected below {limits.reject}")
    for label in dict.fromkeys(row.noise for row in rows):
        group = [row for row in rows if row.noise == label]
        print(label, report(group, limits.accept, limits.reject), sep="\n")
        for voice in sorted({row.voice for row in group}) if given.voices else []:
            mine = [row for row in group if row.voice == voice]
            print(f" {voice}", report(mine, limits.accept, limits.reject), sep="\n")
    print("calibration", calibration_table(rows), sep="\n")
    for row in rows if given.errors else []:
        if row.for_us and not row.right:
            said = f"{row.noise} {row.file} {row.confidence:.2f}: {row.said}"
            print(said, row.heard, row.alternatives, sep=" | ")


if __name__ == "__main__":
    main()
