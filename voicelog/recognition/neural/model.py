"""The network itself: an encoder over the whole of a segment, and a decoder that writes piece by piece.

It holds integer weights and scales its activations by what is in a batch, so that the same piece may
score differently by some hundredths in another batch: compare scores of one batch where it matters.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from voicelog.errors import VoicelogError
from voicelog.recognition.neural.model_files import HOW_TO_GET, ModelFiles
from voicelog.recognition.neural.pieces import BEGIN, END

Floats = NDArray[np.float32]
State = list[Floats]
"""What the decoder remembers of the pieces so far: keys and values of each layer, one row per sentence."""

OLDEST_RUNTIME = (1, 16)
LONGEST_S = 30.0
"""Seconds of sound that are taken at most: the model was trained on no longer ones."""
AT_ONCE = 6
"""Sentences scored in one batch: every piece of each takes an eighth of a megabyte."""
SHORTEST = 1600
"""Samples below which the encoder has no frame."""


class Model:
    """The two networks, opened."""

    def __init__(self, files: ModelFiles, threads: int = 1) -> None:
        """Open the files.

        A second thread halves no time that matters and doubles the work of the processor: the networks are
        small, and threads that wait for each other do not sleep.

        Raises:
            VoicelogError: onnxruntime is missing or too old, or a file is damaged.
        """
        options = _runtime().SessionOptions()
        options.intra_op_num_threads = threads
        options.log_severity_level = 4
        self._encoder = _opened(files.encoder, options)
        self._decoder = _opened(files.decoder, options)
        past = [item for item in self._decoder.get_inputs() if item.name.startswith("past")]
        self.heads = {item.name: (item.shape[1], item.shape[3]) for item in past}
        self.grown = [name for name in self.heads if ".decoder." in name]
        """Names of what grows piece by piece; the others belong to the sound."""
        self._outputs = ["logits", *(name.replace("past_key_values", "present") for name in self.grown)]

    def listen(self, samples: NDArray[np.int16]) -> Sound:
        """Encode a segment of 16 kHz sound."""
        wave = samples[: int(LONGEST_S * 16_000)].astype(np.float32) / 32768
        wave = np.pad(wave, (0, max(0, SHORTEST - len(wave))))[None]
        mask = np.ones(wave.shape, np.int64)
        hidden = self._encoder.run(None, {"input_values": wave, "attention_mask": mask})[0]
        # The mask has the length of the sound, not of the hidden states: the graph takes every 384th of it.
        return Sound(self, {"encoder_hidden_states": hidden, "encoder_attention_mask": mask})

    def run(self, ids: NDArray[np.int64], inputs: dict[str, Any], *, first: bool) -> list[Any]:
        """One call of the decoder; `first` computes what belongs to the sound as well."""
        given = {"input_ids": ids, "use_cache_branch": np.array([not first]), **inputs}
        found: list[Any] = self._decoder.run(None if first else self._outputs, given)
        return found


class Sound:
    """One segment as the decoder attends to it."""

    def __init__(self, model: Model, inputs: dict[str, Any]) -> None:
        self._model = model
        empty = {
            name: np.zeros((0, heads, 1, size), np.float32) for name, (heads, size) in model.heads.items()
        }
        logits, *present = model.run(np.array([[BEGIN]]), {**inputs, **empty}, first=True)
        kept = dict(zip(model.heads, present, strict=True))
        # One row serves all sentences: the graph spreads it over the batch by itself.
        self._inputs = {**inputs, **{name: kept[name] for name in kept if name not in model.grown}}
        self.begin: tuple[Floats, State] = likelihoods(logits[:, -1]), [kept[name] for name in model.grown]
        """Log probabilities of the first piece, and the state before it."""

    def step(self, pieces: Sequence[int], state: State, rows: Sequence[int]) -> tuple[Floats, State]:
        """Write one more piece to each of some sentences.

        Args:
            pieces: the piece for each sentence.
            state: of the batch before.
            rows: which row of that batch each sentence goes on from.

        Returns:
            Log probabilities of what comes next, sentences x pieces, and the state.
        """
        picked = [part[list(rows)] for part in state]
        ids = np.array(pieces, np.int64)[:, None]
        given = dict(zip(self._model.grown, picked, strict=True))
        logits, *grown = self._model.run(ids, {**self._inputs, **given}, first=False)
        return likelihoods(logits[:, -1]), grown

    def follow(self, pieces: Sequence[int]) -> tuple[Floats, State]:
        """Write a row of pieces at once: log probabilities of what comes after each, and the state."""
        ids = np.array([pieces], np.int64)
        given = dict(zip(self._model.grown, self.begin[1], strict=True))
        logits, *grown = self._model.run(ids, {**self._inputs, **given}, first=False)
        return likelihoods(logits[0]), grown

    def score(self, sentences: Sequence[Sequence[int]]) -> list[tuple[float, float]]:
        """Of each sentence with its end: log probability, and the same less that of the likeliest pieces."""
        found = []
        for at in range(0, len(sentences), AT_ONCE):
            found += self._score(sentences[at : at + AT_ONCE])
        return found

    def _score(self, sentences: Sequence[Sequence[int]]) -> list[tuple[float, float]]:
        first, state = self.begin
        ids = np.zeros((len(sentences), max(map(len, sentences))), np.int64)
        for row, pieces in enumerate(sentences):
            ids[row, : len(pieces)] = pieces
        many = [np.repeat(part, len(sentences), 0) for part in state]
        given = dict(zip(self._model.grown, many, strict=True))
        logits = self._model.run(ids, {**self._inputs, **given}, first=False)[0]
        found = []
        for row, pieces in enumerate(sentences):
            after = np.concatenate([first, likelihoods(logits[row, : len(pieces)])])
            logprob = after[range(len(pieces) + 1), [*pieces, END]].sum()
            found.append((float(logprob), float(logprob - after.max(axis=1).sum())))
        return found


def likelihoods(logits: Floats) -> Floats:
    """Log probabilities; logits are small enough to do without the usual shift."""
    found: Floats = logits - np.log(np.exp(logits).sum(axis=-1, keepdims=True))
    return found


def _runtime() -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise VoicelogError(f"onnxruntime cannot be used ({error})", todo="install onnxruntime") from error
    version = tuple(int(part) for part in onnxruntime.__version__.split(".")[:2])
    if version < OLDEST_RUNTIME:
        raise VoicelogError(f"onnxruntime {onnxruntime.__version__} is too old", todo="install a newer one")
    return onnxruntime


def _opened(path: Path, options: Any) -> Any:
    try:
        return _runtime().InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
    except Exception as error:  # the runtime raises nothing narrower
        raise VoicelogError("the speech model is damaged", where=str(path), todo=HOW_TO_GET) from error
