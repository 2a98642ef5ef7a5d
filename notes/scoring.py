"""How well one set of observations agrees with another, by the scoring rules of the reading guide.

Predicted and true marks are paired one to one: same athlete, same kind, spoken times that overlap or lie within
three seconds; the pair that shares most ids first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from notes.model import Kind

_NEAR_MS = 3_000

# One wanted id with its fair alternatives, "none" among them where leaving it out is fair too.
Choice = frozenset[str]


@dataclass(frozen=True, slots=True)
class Mark:
    """One observation to score. Times in ms; each id may be a choice between fair alternatives."""

    athlete: str
    kind: Kind
    start_ms: int
    end_ms: int
    techniques: tuple[Choice, ...] = ()
    faults: tuple[Choice, ...] = ()
    fixes: tuple[Choice, ...] = ()
    again: bool = False
    footage_ms: int | None = None
    round: int | None = None


@dataclass(frozen=True, slots=True)
class Pair:
    """A predicted mark and the true mark that it stands for."""

    predicted: Mark
    true: Mark

    @property
    def strict(self) -> bool:
        """One technique right (or both empty) and, for faults, one fault right."""
        return _right(self.predicted.techniques, self.true.techniques) and (
            self.true.kind != "fault" or _shared(self.predicted.faults, self.true.faults) > 0
        )


@dataclass(slots=True)
class Score:
    """Counts that add up over reviews, and the figures made from them."""

    pairs: list[Pair] = field(default_factory=list)
    false: list[Mark] = field(default_factory=list)
    missed: list[Mark] = field(default_factory=list)
    sentences: int = 0

    def add(self, other: "Score") -> None:
        """Take in the counts of another review."""
        self.pairs += other.pairs
        self.false += other.false
        self.missed += other.missed
        self.sentences += other.sentences

    @property
    def precision(self) -> float:
        """Paired predictions over all predictions."""
        return _ratio(len(self.pairs), len(self.pairs) + len(self.false))

    @property
    def recall(self) -> float:
        """Paired true marks over all true marks."""
        return _ratio(len(self.pairs), len(self.pairs) + len(self.missed))

    @property
    def f1(self) -> float:
        """Harmonic mean of detection precision and recall."""
        return _f1(len(self.pairs), len(self.false), len(self.missed))

    @property
    def strict_f1(self) -> float:
        """F1 where a pair counts only if it is strictly right; a pair that is not counts as false and missed."""
        right = sum(pair.strict for pair in self.pairs)
        wrong = len(self.pairs) - right
        return _f1(right, len(self.false) + wrong, len(self.missed) + wrong)

    @property
    def fix_f1(self) -> float:
        """F1 of fixes over paired faults."""
        right = false = missed = 0
        for pair in self.pairs:
            if pair.true.kind != "fault":
                continue
            given, wanted = list(pair.predicted.fixes), list(pair.true.fixes)
            for choice in list(given):
                match = next((w for w in wanted if w & choice), None)
                if match:
                    given.remove(choice)
                    wanted.remove(match)
                    right += 1
            false += len(given)
            missed += sum("none" not in w for w in wanted)
        return _f1(right, false, missed)

    @property
    def false_per_100(self) -> float:
        """Predictions paired with nothing, for each 100 sentences."""
        return 100 * _ratio(len(self.false), self.sentences)


def score(predicted: Sequence[Mark], true: Sequence[Mark], sentences: int) -> Score:
    """Pair two sets of marks of one review of so many sentences."""
    candidates = [
        (-_ids_shared(p, t), _distance(p, t), i, j)
        for i, p in enumerate(predicted)
        for j, t in enumerate(true)
        if p.athlete == t.athlete and p.kind == t.kind and _distance(p, t) <= _NEAR_MS
    ]
    pairs: dict[int, int] = {}
    taken: set[int] = set()
    for _, _, i, j in sorted(candidates):
        if i not in pairs and j not in taken:
            pairs[i] = j
            taken.add(j)
    return Score(
        pairs=[Pair(predicted[i], true[j]) for i, j in sorted(pairs.items())],
        false=[p for i, p in enumerate(predicted) if i not in pairs],
        missed=[t for j, t in enumerate(true) if j not in taken],
        sentences=sentences,
    )


def _ids_shared(a: Mark, b: Mark) -> int:
    return _shared(a.faults, b.faults) * 2 + _shared(a.techniques, b.techniques) + _shared(a.fixes, b.fixes)


def _distance(a: Mark, b: Mark) -> int:
    """Ms between two spoken spans; 0 or less where they overlap."""
    return max(a.start_ms, b.start_ms) - min(a.end_ms, b.end_ms)


def _shared(a: Sequence[Choice], b: Sequence[Choice]) -> int:
    return sum(any(x & y - {"none"} for y in b) for x in a)


def _right(given: Sequence[Choice], wanted: Sequence[Choice]) -> bool:
    if not given:
        return all("none" in choice for choice in wanted)
    return _shared(given, wanted) > 0


def _ratio(part: int, whole: int) -> float:
    return part / whole if whole else 0.0


def _f1(right: int, false: int, missed: int) -> float:
    return _ratio(2 * right, 2 * right + false + missed)
