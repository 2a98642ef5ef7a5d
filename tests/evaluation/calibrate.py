"""How often each kind of evidence is right, and how far `confidence` is from it: `calibrate.py [SPLIT]`.

The table in notes/reading/confidence.py is taken from the tune split; its expected calibration error is told of blind.
"""

import sys
from collections import defaultdict

from evaluate import as_mark
from gold import read_split

import lexicon
from notes.reading.joining import Joiner
from notes.reading.observations import finished
from notes.reading.remarks import read_remarks
from notes.reading.talk import read_talk
from notes.reading.when import Moments
from notes.scoring import score

Judged = list[tuple[float, bool]]


def judged(split: str) -> dict[str, Judged]:
    """For each kind of evidence, the confidence of every observation and whether a person marked it."""
    vocabulary = lexicon.load()
    found: dict[str, Judged] = defaultdict(list)
    for gold in read_split(split):
        talk = read_talk(gold.transcript, vocabulary, gold.sheet.names)
        remarks = read_remarks(talk, gold.sheet, vocabulary)
        drafts = [d for d in Joiner(vocabulary, gold.sheet, remarks).read() if d.person.role == "athlete"]
        moments = Moments(talk, gold.sheet, timed=True)
        read = [finished(draft, remarks, talk, moments) for draft in drafts]
        marks = [as_mark(observation) for observation in read]
        right = {id(pair.predicted) for pair in score(marks, gold.marks, gold.sentences).pairs}
        for draft, observation, mark in zip(drafts, read, marks, strict=True):
            name = f"{draft.kind} by {draft.evidence}{' with fix' if draft.fixes and draft.kind == 'fault' else ''}"
            found[name].append((observation.confidence, id(mark) in right))
    return found


def calibration_error(rows: Judged, bins: int = 10) -> float:
    """Expected calibration error: the mean distance of confidence from the share right, over equal bins, weighted.

    Source: Naeini, Cooper & Hauskrecht 2015, AAAI 29:2901.
    """
    binned: dict[int, Judged] = defaultdict(list)
    for confidence, right in rows:
        binned[min(int(confidence * bins), bins - 1)].append((confidence, right))
    return sum(abs(sum(c for c, _ in part) - sum(r for _, r in part)) for part in binned.values()) / len(rows)


def main() -> None:
    """Print the table of one split."""
    split = sys.argv[1] if len(sys.argv) > 1 else "tune"
    found = judged(split)
    for name, rows in sorted(found.items()):
        told = sum(confidence for confidence, _ in rows) / len(rows)
        print(f"{name:<34}{len(rows):>5}  told {told:.2f}  right {sum(right for _, right in rows) / len(rows):.2f}")
    print(f"{split}: expected calibration error {calibration_error([r for rows in found.values() for r in rows]):.3f}")


if __name__ == "__main__":
    main()
