"""Sentences of the project's corpus that speak for a judgement: those most alike to what was said."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from notes.model import Kind
from notes.reading.second.reader import KINDS, Array

_FILE = Path(__file__).parent / "model" / "corpus.npz"


@dataclass(frozen=True, slots=True)
class Known:
    """A marked sentence, the ids that it was marked with, and how alike it is (cosine)."""

    text: str
    label: str
    likeness: float


def nearest(kind: Kind, about: Array, count: int = 3) -> list[Known]:
    """The marked sentences of that kind most alike to `about` (192,)."""
    kinds, vectors, texts, labels = _corpus()
    rows = np.flatnonzero(kinds == KINDS.index(kind))
    alike = vectors[rows] @ about
    return [Known(str(texts[rows[i]]), str(labels[rows[i]]), float(alike[i])) for i in np.argsort(-alike)[:count]]


@cache
def _corpus() -> tuple[Array, Array, Array, Array]:
    with np.load(_FILE) as data:
        vectors = data["vectors"].astype(np.float32)
        vectors /= np.linalg.norm(vectors, axis=1, keepdims=True)
        return data["kinds"], vectors, data["texts"], data["labels"]
