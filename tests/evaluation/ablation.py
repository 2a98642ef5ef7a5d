"""What each part of the reading brings: `ablation.py [SPLIT]`, the blind split unless named (totals only)."""

import sys
from collections.abc import Iterator
from dataclasses import replace

from evaluate import HEADER, as_mark, line
from gold import Gold, read_split

import lexicon
from notes.reading.drafts import Draft
from notes.reading.merging import Merger
from notes.reading.observations import read_material
from notes.reading.second.reader import SecondReader, second_reader
from notes.scoring import Score, score


def readings(gold: Gold, vocabulary: lexicon.Lexicon, second: SecondReader) -> Iterator[tuple[str, Score]]:
    """The score of one review as each part alone, and all together, read it."""
    material = read_material(gold.transcript, gold.sheet, vocabulary)
    weights = second.weights
    merger = material.merger(second)
    unnamed = dict.fromkeys(weights.named, 0.0) | {"fix least": weights.named["fix least"]}

    def scored(found: list[Draft]) -> Score:
        marks = [as_mark(material.observation(d)) for d in found if d.person.role == "athlete"]
        return score(marks, gold.marks, gold.sentences)

    def merged(by: Merger, first: list[Draft]) -> Score:
        return scored([d for d in by.merge(first) if d.person.role != "athlete" or by.logs(d)])

    yield "first reader alone", scored(material.drafts)
    yield "second reader alone", merged(replace(merger, weights=replace(weights, named=unnamed)), [])
    yield "both, ids by second", merged(replace(merger, weights=replace(weights, named=unnamed)), material.drafts)
    yield "both", merged(merger, material.drafts)


def main() -> None:
    """Print the table of one split."""
    split = sys.argv[1] if len(sys.argv) > 1 else "blind"
    vocabulary = lexicon.load()
    second = second_reader(vocabulary)
    if second is None:
        sys.exit("the second reader's weights are missing")
    totals: dict[str, Score] = {}
    for gold in read_split(split):
        for name, result in readings(gold, vocabulary, second):
            totals.setdefault(name, Score()).add(result)
    print(f"{split}\n{HEADER}")
    for name, total in totals.items():
        print(line(name, total))


if __name__ == "__main__":
    main()
