"""How far `confidence` is from the share that is right, by bins: `calibrate.py [SPLIT]`, the blind split unless named.

What is logged and what is offered as "perhaps" both count. Beside our figure stands the curve that scikit-learn makes
of the same pairs.
"""

import sys
from collections import defaultdict

from evaluate import as_mark
from gold import read_split
from sklearn.calibration import calibration_curve

import lexicon
from notes.reading.observations import read_review
from notes.reading.second.reader import second_reader
from notes.scoring import score

Judged = list[tuple[float, bool]]
BINS = 10


def judged(split: str) -> Judged:
    """The confidence of every observation, and whether a person marked it."""
    vocabulary = lexicon.load()
    second = second_reader(vocabulary)
    rows: Judged = []
    for gold in read_split(split):
        review = read_review(gold.transcript, gold.sheet, vocabulary, second)
        wanted = list(gold.marks)
        for found in (review.observations, review.perhaps):
            athletes = [o for o in found if o.role == "athlete"]
            marks = [as_mark(o) for o in athletes]
            pairs = score(marks, wanted, gold.sentences).pairs
            right = {id(p.predicted) for p in pairs}
            rows += [(o.confidence, id(m) in right) for o, m in zip(athletes, marks, strict=True)]
            taken = {id(p.true) for p in pairs}
            wanted = [m for m in wanted if id(m) not in taken]
    return rows


def calibration_error(rows: Judged) -> float:
    """Expected calibration error: the mean distance of confidence from the share right, over equal bins, weighted.

    Source: Naeini, Cooper & Hauskrecht 2015, AAAI 29:2901.
    """
    return sum(abs(sum(c for c, _ in part) - sum(r for _, r in part)) for part in binned(rows).values()) / len(rows)


def binned(rows: Judged) -> dict[int, Judged]:
    """Rows by bin of confidence."""
    bins: dict[int, Judged] = defaultdict(list)
    for confidence, right in rows:
        bins[min(int(confidence * BINS), BINS - 1)].append((confidence, right))
    return dict(sorted(bins.items()))


def main() -> None:
    """Print the reliability table of one split."""
    split = sys.argv[1] if len(sys.argv) > 1 else "blind"
    rows = judged(split)
    shares, _ = calibration_curve([right for _, right in rows], [c for c, _ in rows], n_bins=BINS)
    print(f"{split}: confidence and what a person had marked\n{'told':>6}{'right':>7}{'scikit-learn':>14}{'count':>7}")
    for (_, part), share in zip(binned(rows).items(), shares, strict=True):
        told, right = (sum(values) / len(part) for values in zip(*part, strict=True))
        print(f"{told:>6.2f}{right:>7.2f}{share:>14.2f}{len(part):>7}  {'#' * round(40 * right)}")
    print(f"expected calibration error {calibration_error(rows):.3f}")


if __name__ == "__main__":
    main()
