"""How well the ear hears: `python -m tests.speech.benchmark SET... [--engine NAME]... [options]`.

A SET is a folder of recordings with a manifest, or one that `tests.speech.sets` makes: outsiders,
lengths, pauses, not-for-us.  For every engine, noise level and voice it counts what was heard right,
accepted, asked, kept and rejected, silent errors, slots, cut and merged notes, false accepts, and what
it cost.

Recordings of many utterances go the whole way: voice activity, segments, recogniser, dialogue, commit.
Recordings of one utterance are decoded as they are; those of our own language then enter the dialogue
too.  Each utterance meets a fresh record (a new job with one dent), so that its decision does not hang
on the one before.  "Right" is: the same kind and slots as the words typed, or the slots of the manifest.
Engines run one after the other, each in a process of its own.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from tests.speech.hearing import Judge, at_once, baseline, whole_way
from tests.speech.noise import MADE, Samples, babble, mixed
from tests.speech.recordings import Corpus, read_corpus, read_sound
from tests.speech.rows import Cost, Row, calibration_table, cost_lines, report, voice_table
from tests.speech.sets import BY_VOICE, CACHE, make
from voicelog.recognition.open import open_engine

START = """
import sys, time
began = time.perf_counter(), time.process_time()
from voicelog.cli.wiring import open_card, open_dialogue, open_ears
from voicelog.listening import Segmenter
from voicelog.jobs.logbook import Logbook
from voicelog.settings import Settings
given = Settings()
open_dialogue(Logbook.in_memory(), open_card(None, given), given)
open_ears(sys.argv[1], given)
Segmenter()
print(min(time.perf_counter() - began[0], time.process_time() - began[1]))
"""
"""What `voicelog listen` does before it listens."""


def measured(given: argparse.Namespace, name: str) -> tuple[list[Row], Cost]:
    """Everything that one engine is asked to hear, in this process."""
    rows: list[Row] = []
    cost = Cost(name)
    for folder in given.sets:
        corpus = chosen(read_corpus(place_of(folder, given), given.manifest), given)
        if corpus.grammar is None:
            raise SystemExit("the manifest names no grammar; give --grammar")
        engine = open_engine(name, grammar=corpus.grammar, lexicon=corpus.lexicon, model=given.model)
        cost.engine = engine.name
        judge = Judge(corpus, engine)
        for level, sounds in levels(given, corpus):
            for recording, samples in zip(corpus.recordings, sounds, strict=True):
                label = f"{Path(folder).name} {level}"
                if recording.said is None:
                    rows += at_once(engine, judge, recording, label, samples, cost)
                else:
                    rows += whole_way(engine, judge, recording, label, samples, cost, given.live)
    cost.memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    cost.baseline_s = baseline()
    return rows, cost


def place_of(folder: str, given: argparse.Namespace) -> Path:
    """A folder of recordings; a set is made if need be."""
    made = folder in BY_VOICE or folder == "not-for-us"
    return make(folder, people=given.people) if made else Path(folder)


def chosen(corpus: Corpus, given: argparse.Namespace) -> Corpus:
    """The recordings the command line asks for."""
    found = [
        item for item in corpus.recordings
        if given.split in (None, item.split) and (given.voice is None or given.voice in item.voice)
    ]  # fmt: skip
    last = None if given.count is None else given.first + given.count
    return Corpus(found[given.first : last], given.grammar or corpus.grammar, given.lexicon or corpus.lexicon)


def levels(given: argparse.Namespace, corpus: Corpus) -> Iterator[tuple[str, Iterator[Samples]]]:
    """Each noise level with the recordings at that level, one at a time."""
    clean = (read_sound(item.path) for item in corpus.recordings)
    if not given.no_clean:
        yield "clean", clean
    if given.noise:
        few = [read_sound(item.path) for item in corpus.recordings[:40]] if given.noise == "babble" else []
        noise = noise_named(given.noise, few)
        for snr in given.snr or ():
            sounds = (read_sound(item.path) for item in corpus.recordings)
            mixes = (mixed(sound, noise, snr, given.seed + place) for place, sound in enumerate(sounds))
            yield f"{Path(given.noise).stem} {snr:g} dB", mixes


def noise_named(name: str, voices: list[Samples]) -> Samples:
    """A recorded noise by its path, or a made one by its name."""
    if name == "babble":
        return babble(voices, 60.0, seed=11)
    return MADE[name](60.0, seed=11) if name in MADE else read_sound(Path(name))


def started(name: str) -> float:
    """Seconds from a cold process to listening; the second start, when caches are filled."""
    command = [sys.executable, "-c", START, name]
    return float(
        [subprocess.run(command, capture_output=True, text=True, check=True) for _ in range(2)][1].stdout
    )


def printed(given: argparse.Namespace, rows: list[Row], cost: Cost | None) -> None:
    """Everything about one engine."""
    if cost is not None:
        print(cost.engine, cost_lines(cost), sep="\n")
    for level in dict.fromkeys(row.level for row in rows):
        group = [row for row in rows if row.level == level]
        print(f" {level}", report(group), *([voice_table(group)] if given.voices else []), sep="\n")
    if given.calibration:
        print(calibration_table(rows))
    for row in rows if given.errors else []:
        if row.decision != "rejected" if not row.for_us else not row.right or row.decision != "accepted":
            print(f"{row.level} {row.voice} {row.decision} {row.confidence:.2f}: {row.said} | {row.heard} | "
                  f"{row.alternatives[:2]} | {row.free}")  # fmt: skip


def arguments() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.speech.benchmark", description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("sets", nargs="*", metavar="SET", help=f"folders, or made ones (kept in {CACHE})")
    parser.add_argument(
        "--engine", action="append", help="auto, neural, pocketsphinx or vosk; may be repeated"
    )
    parser.add_argument("--manifest", type=Path)
    parser.add_argument("--grammar", type=Path)
    parser.add_argument("--lexicon", type=Path)
    parser.add_argument("--model", type=Path)
    parser.add_argument("--noise", help=f"a recording, or one of babble, {', '.join(MADE)}")
    parser.add_argument("--snr", type=float, action="append", help="dB; may be repeated")
    parser.add_argument("--no-clean", action="store_true", help="only with noise")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--first", type=int, default=0, help="leave out the recordings before this one")
    parser.add_argument("--count", type=int, help="at most this many recordings")
    parser.add_argument("--split", help="only recordings of this split: tuning or held")
    parser.add_argument("--voice", help="only voices with this in their name")
    parser.add_argument("--people", type=Path, help="folder of orders by real people, talk for not-for-us")
    parser.add_argument(
        "--live", action="store_true", help="live words too: what they cost, how often they change"
    )
    parser.add_argument("--voices", action="store_true", help="a line for each voice too")
    parser.add_argument("--calibration", action="store_true", help="stated confidence against what was right")
    parser.add_argument("--errors", action="store_true", help="list what was wrong or asked about")
    parser.add_argument("--rows", type=Path, help="write every answer with its raw scores as JSON")
    parser.add_argument(
        "--from-rows", type=Path, action="append", help="decode nothing: report such files anew"
    )
    return parser.parse_args()


def in_a_process_of_its_own(name: str) -> tuple[list[Row], Cost]:
    """One engine with the same command line, so that its memory and its start are its own."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "rows.json"
        given = [sys.executable, "-m", "tests.speech.benchmark", *sys.argv[1:], "--rows", str(out)]
        subprocess.run([*given, "--one-engine", name], check=True)
        data = json.loads(out.read_text(encoding="utf-8"))
    return [Row(**row) for row in data["rows"]], Cost(**data["cost"])


def main() -> None:
    """Run the benchmark."""
    if "--one-engine" in sys.argv:
        name = sys.argv.pop()
        sys.argv.remove("--one-engine")
        given = arguments()
        rows, cost = measured(given, name)
        given.rows.write_text(
            json.dumps({"rows": [asdict(row) for row in rows], "cost": asdict(cost)}), encoding="utf-8"
        )
        return
    given = arguments()
    for path in given.from_rows or []:
        printed(given, read_rows(path), None)
    kept: list[Row] = []
    for name in given.engine or (["auto"] if given.sets else []):
        rows, cost = in_a_process_of_its_own(name)
        cost.start_s = started(name)
        printed(given, rows, cost)
        kept += rows
    if given.rows:
        given.rows.write_text(json.dumps([asdict(row) for row in kept]), encoding="utf-8")


def read_rows(path: Path) -> list[Row]:
    """Rows written before."""
    return [Row(**row) for row in json.loads(path.read_text(encoding="utf-8"))]


if __name__ == "__main__":
    main()
