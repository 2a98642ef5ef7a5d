"""The learned weights by which two readings are merged."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from notes.model import Kind

BIAS = "bias"
# From this chance a sign that someone may be hurt is logged.
_SIGN = 0.2


@dataclass(frozen=True, slots=True)
class Weights:
    """Learned: of the features of a candidate, of the ways in which the first reader names an id, and the chance from
    which an observation is logged rather than offered."""

    bias: float
    features: dict[str, float]
    named: dict[str, float]
    logged: float

    def logged_from(self, kind: Kind) -> float:
        """The chance from which an observation of a kind is logged. A sign that someone may be hurt is logged sooner:
        one too many costs a look, one too few may cost more."""
        return _SIGN if kind == "welfare" else self.logged

    def log_odds(self, features: Mapping[str, float]) -> float:
        """The log odds that a person would mark such a candidate."""
        return self.bias + sum(self.features.get(name, 0.0) * value for name, value in features.items())

    def chance(self, features: Mapping[str, float]) -> float:
        """The chance of that."""
        return float(1 / (1 + np.exp(-self.log_odds(features))))

    def changed(self, changes: Mapping[str, float]) -> "Weights":
        """These weights with changes of the bias and of features added."""
        names = [*self.features, *(name for name in changes if name not in self.features and name != BIAS)]
        features = {name: self.features.get(name, 0.0) + changes.get(name, 0.0) for name in names}
        return replace(self, bias=self.bias + changes.get(BIAS, 0.0), features=features)


def read_weights(path: Path) -> Weights:
    """Weights from their file."""
    return Weights(**json.loads(path.read_text("utf-8")))
