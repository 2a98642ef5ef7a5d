"""Learn how the two readers are merged: `merge.py JUDGED.npz… --out merging.json`.

The added reviews were never used to tune the first reader's rules, and the second reader's judgements of them come from
models that had not seen them (`train.py --folds`), so neither flatters itself. Only the chance from which an observation
is logged is taken from the tune split.
"""

import argparse
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from evaluate import as_mark
from gold import Gold, read_split
from sklearn.linear_model import LogisticRegression

import lexicon
from notes.reading.drafts import Draft
from notes.reading.joining import Joiner
from notes.reading.merging import Merger
from notes.reading.observations import finished
from notes.reading.people import Person
from notes.reading.remarks import read_remarks
from notes.reading.second.reader import Judgement, SecondReader, chance_of, log_share, second_reader
from notes.reading.second.weights import Weights
from notes.reading.talk import Talk, read_talk
from notes.reading.when import Moments
from notes.scoring import Mark, Score, score

START = {
    "fault drafted": 0.5,
    "fault mentioned": 0.5,
    "technique drafted": 0.5,
    "technique mentioned": 1.0,
    "fix drafted": 1.0,
    "fix least": -0.5,
}
STEPS = {
    "fault drafted": (0.0, 0.5, 1.0, 2.0),
    "fault mentioned": (0.0, 0.5, 1.0, 2.0),
    "technique drafted": (0.0, 0.5, 1.0, 2.0),
    "technique mentioned": (0.5, 1.0, 1.5, 2.0, 3.0),
    "fix drafted": (0.0, 1.0, 2.0, 3.0),
    "fix least": (-1.5, -1.0, -0.5, 0.0),
}
# False logs for each hundred sentences that may be made at most, with room for what tune does not show.
MOST_FALSE = 4.0
# Of chances that log about equally well, the lowest is taken: it leaves least for a person to look through.
CLOSE = 0.002


@dataclass(frozen=True)
class Read:
    """One review as both readers have it."""

    gold: Gold
    talk: Talk
    drafts: list[Draft]
    merger: Merger
    moments: Moments

    def mark(self, draft: Draft) -> Mark:
        """A draft in the form that is scored."""
        return as_mark(finished(draft, list(self.merger.remarks), self.talk, self.moments))


def read(split: str, judged: dict[str, Any], reader: SecondReader, vocabulary: lexicon.Lexicon) -> Iterator[Read]:
    """The reviews of a split."""
    for gold in read_split(split):
        talk = read_talk(gold.transcript, vocabulary, gold.sheet.names)
        remarks = read_remarks(talk, gold.sheet, vocabulary)
        athletes = tuple(Person(a.name, "athlete") for a in gold.sheet.athletes)
        value = {
            key: judged[f"{gold.name}/{key}"].astype(np.float32)
            for key in ("begins", "goes_on", "again", "fault", "technique", "fix")
        }
        judgement = Judgement(
            chance_of(value["begins"]),
            chance_of(value["goes_on"]),
            chance_of(value["again"]),
            log_share(value["fault"]),
            log_share(value["technique"]),
            chance_of(value["fix"]),
            np.zeros((len(talk.sentences), 0), np.float32),
            np.zeros((len(talk.sentences), 4, 0), np.float32),
            np.zeros((len(talk.sentences), 4, 0), np.float32),
        )
        merger = Merger(reader, judgement, remarks, athletes, Weights(0.0, {}, START, 0.5))
        drafts = Joiner(vocabulary, gold.sheet, remarks).read()
        yield Read(gold, talk, drafts, merger, Moments(talk, gold.sheet, timed=True))


def samples(one: Read) -> Iterator[tuple[dict[str, float], bool]]:
    """Features of every candidate, and whether a mark of its kind stands there that no likelier one has taken."""
    found = one.merger.candidates(one.drafts)
    free = list(one.gold.marks)
    for candidate in sorted(found, key=lambda c: (-c.chance, c.crowded)):
        mark = one.mark(one.merger.drafted(candidate)[0])
        meeting = [m for m in free if m.kind == mark.kind and m.start_ms < mark.end_ms and mark.start_ms < m.end_ms]
        if meeting:
            free.remove(min(meeting, key=lambda m: abs(m.start_ms - mark.start_ms)))
        yield one.merger.features(candidate), bool(meeting)


def fit(rows: Iterable[tuple[dict[str, float], bool]]) -> tuple[float, dict[str, float]]:
    """Bias and weight of each feature."""
    told = list(rows)
    names = sorted({name for features, _ in told for name in features})
    matrix = np.array([[features.get(name, 0.0) for name in names] for features, _ in told])
    model = LogisticRegression(C=1.0, max_iter=5000).fit(matrix, [right for _, right in told])
    weights = {name: round(float(w), 3) for name, w in zip(names, model.coef_[0], strict=True)}
    return round(float(model.intercept_[0]), 3), weights


def total(reviews: list[Read], weights: Weights) -> Score:
    """How well reviews are read with such weights."""
    result = Score()
    for one in reviews:
        merger = replace(one.merger, weights=weights)
        logged = [d for d in merger.merge(one.drafts) if d.person.role == "athlete" and merger.logs(d)]
        result.add(score([one.mark(d) for d in logged], one.gold.marks, one.gold.sentences))
    return result


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("judged", nargs="+")
    parser.add_argument("--out", required=True)
    args = parser.parse_args()
    judged: dict[str, Any] = {}
    for path in args.judged:
        judged |= dict(np.load(path))
    vocabulary = lexicon.load()
    reader = second_reader(vocabulary)
    assert reader
    learn = list(read("added", judged, reader, vocabulary))
    rows = [row for one in learn for row in samples(one)]
    bias, features = fit(rows)
    print(f"learned from {len(rows)} candidates: bias {bias} {features}")
    tune = list(read("tune", judged, reader, vocabulary))
    weights = Weights(bias, features, dict(START), 0.5)
    logged = {t / 100: total(tune, replace(weights, logged=t / 100)) for t in range(25, 75, 5)}
    for threshold, result in logged.items():
        print(
            f"logged from {threshold:.2f}: F1 {result.f1:.3f} strict {result.strict_f1:.3f} false {result.false_per_100:.1f}"
        )
    fair = {t: result.f1 for t, result in logged.items() if result.false_per_100 <= MOST_FALSE}
    weights = replace(weights, logged=min(t for t, f1 in fair.items() if f1 >= max(fair.values()) - CLOSE))
    for name, steps in STEPS.items():
        tried = {step: total(learn, replace(weights, named=weights.named | {name: step})) for step in steps}
        chosen = max(
            steps, key=lambda step: (tried[step].fix_f1 if name.startswith("fix") else tried[step].strict_f1, -step)
        )
        weights = replace(weights, named=weights.named | {name: chosen})
        print(name, {step: (round(r.strict_f1, 3), round(r.fix_f1, 3)) for step, r in tried.items()}, "→", chosen)
    Path(args.out).write_text(json.dumps(asdict(weights), indent=1) + "\n")


if __name__ == "__main__":
    main()
