"""The learned model: what starts in each sentence of a talk, and which ids it speaks of."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lexicon import Lexicon
from lexicon.entries import Sort
from notes.model import Kind
from notes.reading.second.club import BEGINS, MERGING, NAMED, Club, club_of
from notes.reading.second.weights import read_weights
from notes.reading.second.windows import WINDOW, heading, sentences, windows
from notes.reading.talk import Talk
from notes.sheet import Sheet

Array = NDArray[np.float32]
KINDS: tuple[Kind, ...] = ("fault", "strength", "advice", "welfare")
NO_TECHNIQUE = "none"
_MODEL = Path(__file__).parent / "model"
# The encoder that is run takes its large weights out of the other's file.
_ADAPTED = "adapted.onnx"
_WEIGHTS = ("encoder.onnx", _ADAPTED, "heads.npz", "merging.json")
_PROJECTIONS: dict[Sort, str] = {"fault": "to_fault", "technique": "to_technique", "fix": "to_fix"}
_PLAIN_HEADING = "mma live"


@dataclass(frozen=True, slots=True)
class Judgement:
    """Of n sentences: the chance that an observation of each of the four kinds starts in it (n, 4) or goes on in it
    (n, 4), that a fault is told as a repeat (n,); of each id, should one start: log chances of the faults (n, ids) and
    of a technique for each kind (n, 4, ids), chances of the fixes of a fault and of advice (n, 2, ids). Unit vectors
    place what is said among the faults (n, 192) and, for each kind, among the techniques (n, 4, 192). `pooled`: what
    each kind has looked at in a sentence (n, 4, 384)."""

    begins: Array
    goes_on: Array
    again: Array
    faults: Array
    techniques: Array
    fixes: Array
    among_faults: Array
    among_techniques: Array
    pooled: Array

    def about(self, i: int, k: int) -> Array:
        """Where sentence i stands for kind k (192,), by which like sentences are found."""
        return np.asarray(self.among_faults[i] if KINDS[k] == "fault" else self.among_techniques[i, k])


class SecondReader:
    """Encoder and heads. `ids` names the columns of a judgement: of the faults ("unlisted" among them), the techniques
    ("none" among them) and the fixes."""

    def __init__(self, folder: Path):
        self._folder = folder
        from onnxruntime import InferenceSession, SessionOptions
        from tokenizers import Tokenizer

        options = SessionOptions()
        # Weights are spelt out as floats once, at loading, not at every run.
        options.add_session_config_entry("session.disable_quant_qdq", "1")
        self._encoder = InferenceSession(folder / _ADAPTED, options, providers=["CPUExecutionProvider"])
        self._tokenizer = Tokenizer.from_file(str(folder / "tokenizer.json"))
        self._tokenizer.no_truncation()
        self._tokenizer.no_padding()
        self._start, self._end = (int(self._tokenizer.token_to_id(mark) or 0) for mark in ("[CLS]", "[SEP]"))
        with np.load(folder / "heads.npz") as heads:
            arrays: dict[str, Any] = dict(heads)
        names = {"fault": "faults", "technique": "techniques", "fix": "fixes"}
        self.ids: dict[str, tuple[str, ...]] = {
            sort: tuple(map(str, arrays.pop(f"{name}.ids"))) for sort, name in names.items()
        }
        self._heads: dict[str, Array] = {name: value.astype(np.float32) for name, value in arrays.items()}
        for sort, name in names.items():
            self._heads[sort] = _unit(self._heads.pop(name))
        self.weights = read_weights(folder / "merging.json")
        self._club: Club | None = None

    @cached_property
    def shipped_sha256(self) -> str:
        """A fingerprint of the weights as they come, those of merging too."""
        parts = (self._folder / name for name in _WEIGHTS)
        return hashlib.sha256(b"".join(part.read_bytes() for part in parts)).hexdigest()

    @property
    def sha256(self) -> str:
        """A fingerprint of the weights by which is read: with what a club has taught, where it has."""
        if self._club is None:
            return self.shipped_sha256
        return hashlib.sha256(f"{self.shipped_sha256} {self._club.sha256}".encode()).hexdigest()

    def sharpness(self, sort: Sort) -> float:
        """By what the cosine to an id is multiplied before chances are made of it."""
        return float(self._heads["sharp"][list(_PROJECTIONS).index(sort)])

    def take_over(self, club: Club) -> None:
        """Read by what a club has taught: once, after all ids are known."""
        for part, names in ((BEGINS, KINDS), *((sort, self.ids[sort]) for sort in NAMED)):
            change = club.change_of(part)
            rows = zip(names, self._heads[part], strict=True)
            self._heads[part] = np.stack([row + change.get(name, np.float32(0)) for name, row in rows])
        self.weights = self.weights.changed({name: float(value) for name, value in club.change_of(MERGING).items()})
        self._club = club

    def learn_ids(self, lexicon: Lexicon) -> None:
        """Take in the ids of a lexicon that training has not seen, by the middle of their meaning and examples.

        Source: Qi, Brown & Lowe 2018, CVPR, "Low-shot learning with imprinted weights".
        """
        for sort, projection in _PROJECTIONS.items():
            for entry in lexicon.of_sort(sort):
                if entry.id not in self.ids[sort]:
                    self._imprint(sort, entry.id, projection, [entry.means, *entry.hits])

    def _imprint(self, sort: Sort, name: str, projection: str, texts: Sequence[str]) -> None:
        pooled = np.concatenate([next(self._pooled([text.lower()], _PLAIN_HEADING)) for text in texts])
        middle = _unit(self._about(pooled[:, 0], projection).mean(0))
        self._heads[sort] = np.concatenate([middle[None], self._heads[sort]])
        self.ids[sort] = (name, *self.ids[sort])

    def judge(self, talk: Talk, sheet: Sheet) -> Judgement:
        """What the model says of every sentence of a talk."""
        pooled = np.concatenate(list(self._pooled(sentences(talk, sheet), heading(sheet))))
        heads = self._heads
        sharp_fault, sharp_technique, sharp_fix = heads["sharp"]
        among_faults = self._about(pooled[:, 0], "to_fault")
        among_techniques = self._about(pooled, "to_technique")
        fault = sharp_fault * among_faults @ heads["fault"].T
        technique = sharp_technique * among_techniques @ heads["technique"].T
        fix = sharp_fix * self._about(pooled[:, [0, 2]], "to_fix") @ heads["fix"].T + heads["fix_bias"]
        return Judgement(
            begins=chance_of((pooled * heads["begins"]).sum(-1) + heads["begins_bias"]),
            goes_on=chance_of((pooled * heads["goes_on"]).sum(-1) + heads["goes_on_bias"]),
            again=chance_of(pooled[:, 0] @ heads["again.weight"][0] + heads["again.bias"]),
            faults=log_share(fault),
            techniques=log_share(technique),
            fixes=chance_of(fix),
            among_faults=among_faults,
            among_techniques=among_techniques,
            pooled=pooled,
        )

    def _about(self, pooled: Array, projection: str) -> Array:
        """Where sentences stand among ids: unit vectors, to be compared by their cosine."""
        return _unit(pooled @ self._heads[f"{projection}.weight"].T + self._heads[f"{projection}.bias"])

    def _pooled(self, said: Sequence[str], head: str) -> Iterator[Array]:
        """Each sentence as one vector a kind (sentences, 4, 384), window by window."""
        pieces = [list(e.ids) for e in self._tokenizer.encode_batch(list(said), add_special_tokens=False)]
        start = [self._start, *self._tokenizer.encode(head, add_special_tokens=False).ids, self._end]
        for window in windows([len(p) + 1 for p in pieces], WINDOW - len(start)):
            row, spans = list(start), []
            for told in pieces[window.first : window.last]:
                shown = told[: max(1, WINDOW - len(row) - 1)] or [self._end]
                spans.append((len(row), len(row) + len(shown)))
                row += [*shown, self._end]
            inputs = {"ids": np.array([row], dtype=np.int64), "real": np.ones((1, len(row)), dtype=np.float32)}
            tokens = self._encoder.run(None, inputs)[0][0]
            kept = spans[window.kept_first - window.first : window.kept_last - window.first]
            yield np.stack([self._pool(tokens[first:last]) for first, last in kept])

    def _pool(self, tokens: Array) -> Array:
        """The tokens of one sentence (length, 384), weighed by what each kind looks for (4, 384)."""
        return np.asarray(np.exp(log_share(self._heads["looks"] @ tokens.T)) @ tokens)


def _unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12))


def chance_of(logits: Array) -> Array:
    """Chances from log odds."""
    return np.asarray(1 / (1 + np.exp(-logits)))


def log_share(logits: Array) -> Array:
    """Log chances of alternatives, along the last axis."""
    shifted = logits - logits.max(-1, keepdims=True)
    return np.asarray(shifted - np.log(np.exp(shifted).sum(-1, keepdims=True)))


def second_reader(lexicon: Lexicon, home: Path | None = None) -> SecondReader | None:
    """The second reader, with all ids of a lexicon and what the club of a home has taught it; None where its weights
    are not there."""
    if not (_MODEL / _ADAPTED).exists():
        return None
    reader = SecondReader(_MODEL)
    reader.learn_ids(lexicon)
    if home and (club := club_of(home, reader.shipped_sha256)):
        reader.take_over(club)
    return reader
