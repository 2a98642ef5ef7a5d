"""Learning from corrections: changes of the shipped numbers that fit what people decided, held back by a prior.

What is made least is the loss on the corrections, plus `prior` / 2 times the squared length of the change. That is the
most probable change under a Gaussian centred on the shipped numbers with variance 1 / prior, so that few corrections
change little, and none nothing. Source: Bishop 2006, "Pattern Recognition and Machine Learning", 4.5.1. Pure functions
of arrays; equal corrections give equal changes.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Flags = NDArray[np.bool_]
Told = tuple[Numbers, Flags]


class Corrections(Protocol):
    """n corrections of one part of the reader."""

    def take(self, rows: Flags) -> "Corrections":
        """Some of them, by a mask (n,)."""
        ...

    def fit(self) -> Numbers:
        """The change that fits them best."""
        ...

    def told(self, change: Numbers | None = None) -> Told:
        """With a change of the shipped numbers: the log loss of each (n,), and whether it comes out right (n,)."""
        ...


@dataclass(frozen=True, slots=True)
class Presence:
    """Whether something is there: features of candidates (n, f), their log odds as shipped (n,), the log odds from
    which they are logged (n,), and whether a person let them stand (n,). A change is one of the weights (f,)."""

    features: Numbers
    shipped: Numbers
    logged_from: Numbers
    right: Flags
    prior: float

    def take(self, rows: Flags) -> "Presence":
        """Some candidates."""
        return Presence(self.features[rows], self.shipped[rows], self.logged_from[rows], self.right[rows], self.prior)

    def fit(self) -> Numbers:
        """The change of the weights (f,)."""

        def loss(change: Numbers) -> tuple[float, Numbers]:
            odds = self.shipped + self.features @ change
            chance = 1 / (1 + np.exp(-odds))
            return float(self._loss(odds).sum()), self.features.T @ (chance - self.right)

        return _least(loss, (self.features.shape[1],), self.prior)

    def told(self, change: Numbers | None = None) -> Told:
        """Loss of each, and whether it is logged if it stands and not if not."""
        odds = self.shipped if change is None else self.shipped + self.features @ change
        return self._loss(odds), (odds >= self.logged_from) == self.right

    def _loss(self, odds: Numbers) -> Numbers:
        return np.logaddexp(0, np.where(self.right, -odds, odds))


@dataclass(frozen=True, slots=True)
class Naming:
    """Which id it is: where remarks stand (n, d), what speaks for each id as shipped (n, ids), and which of the ids a
    person chose (n, ids), any of them being right. `sharp` is by what a cosine is multiplied. A change is one of the
    ids' vectors (ids, d)."""

    about: Numbers
    shipped: Numbers
    chosen: Flags
    sharp: float
    prior: float

    def take(self, rows: Flags) -> "Naming":
        """Some remarks."""
        return Naming(self.about[rows], self.shipped[rows], self.chosen[rows], self.sharp, self.prior)

    def fit(self) -> Numbers:
        """The change of the vectors (ids, d)."""

        def loss(change: Numbers) -> tuple[float, Numbers]:
            scores = self._scores(change)
            wanted = np.where(self.chosen, scores, -np.inf)
            slope = _shares(scores) - _shares(wanted)
            return float((_log_sum(scores) - _log_sum(wanted)).sum()), self.sharp * slope.T @ self.about

        return _least(loss, (self.shipped.shape[1], self.about.shape[1]), self.prior)

    def told(self, change: Numbers | None = None) -> Told:
        """Loss of each, and whether the id that most speaks for is one of those chosen."""
        scores = self._scores(change)
        wanted = np.where(self.chosen, scores, -np.inf)
        best = np.take_along_axis(self.chosen, scores.argmax(1)[:, None], 1)[:, 0]
        return _log_sum(scores) - _log_sum(wanted), best

    def _scores(self, change: Numbers | None) -> Numbers:
        return self.shipped if change is None else self.shipped + self.sharp * self.about @ change.T


@dataclass(frozen=True, slots=True)
class Figures:
    """Of corrections that were held back while the others were learned from: how many, how many come out right, and
    their mean log loss (nats), as shipped and after learning; `error` is the standard error of its mean difference."""

    count: int
    right_before: int
    right_after: int
    loss_before: float
    loss_after: float
    error: float

    @property
    def better(self) -> bool:
        """Whether the loss is smaller by more than the margin and twice the standard error, and no fewer are right."""
        gain = self.loss_before - self.loss_after
        return gain > max(MARGIN, 2 * self.error) and self.right_after >= self.right_before


# A mean log loss must be smaller by so many nats to count as smaller.
MARGIN = 0.01


def held_back(corrections: Corrections, folds: NDArray[np.int64]) -> Figures:
    """How corrections come out, each judged by what was learned from those of other folds (n,); n at least 1."""
    loss_before, right_before = corrections.told()
    loss_after, right_after = loss_before.copy(), right_before.copy()
    for fold in np.unique(folds):
        out = folds == fold
        change = corrections.take(~out).fit()
        loss_after[out], right_after[out] = corrections.take(out).told(change)
    return Figures(
        count=len(folds),
        right_before=int(right_before.sum()),
        right_after=int(right_after.sum()),
        loss_before=float(loss_before.mean()),
        loss_after=float(loss_after.mean()),
        error=float((loss_before - loss_after).std() / math.sqrt(len(folds))),
    )


def _least(loss: Callable[[Numbers], tuple[float, Numbers]], shape: tuple[int, ...], prior: float) -> Numbers:
    """Where loss and prior together are least. Source of the method: Liu & Nocedal 1989, Math. Program. 45:503."""
    from scipy.optimize import minimize

    def whole(flat: Numbers) -> tuple[float, Numbers]:
        value, slope = loss(flat.reshape(shape))
        return value + prior / 2 * float(flat @ flat), slope.ravel() + prior * flat

    found = minimize(whole, np.zeros(int(np.prod(shape))), jac=True, method="L-BFGS-B")
    return np.asarray(found.x).reshape(shape)


def _log_sum(scores: Numbers) -> Numbers:
    top = scores.max(1, keepdims=True)
    return np.asarray(np.log(np.exp(scores - top).sum(1)) + top[:, 0])


def _shares(scores: Numbers) -> Numbers:
    return np.asarray(np.exp(scores - _log_sum(scores)[:, None]))
