"""How fast talk is read, against the bare spaCy pipeline on the same text: `make bench`.

The baseline is `spacy.blank("en")` tokenising the same sentences, which is all that reading needs of spaCy.
"""

import time
from collections.abc import Callable

import spacy
from gold import read_split

import lexicon
from lexicon.tokens import tokenize
from notes.reading.observations import read_observations

ROUNDS = 3


def best_of(work: Callable[[], object]) -> float:
    """Shortest of a few runs, in seconds."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print load time and reading speed with their ratios."""
    blank = best_of(lambda: spacy.blank("en"))
    tokenize("warm up")
    load = best_of(lexicon.load)
    vocabulary = lexicon.load()
    patterns = sum(len(e.say) for e in vocabulary.entries.values())
    print(f"lexicon: {len(vocabulary.entries)} entries, {patterns} patterns, loaded in {load:.2f} s")
    print(f"  ratio to making a blank spaCy pipeline ({blank:.2f} s): {load / blank:.2f}")

    reviews = read_split("work")
    sentences = sum(gold.sentences for gold in reviews)
    pipeline = spacy.blank("en")
    texts = [" ".join(s.text for s in gold.transcript.segments) for gold in reviews]
    bare = best_of(lambda: [pipeline(text) for text in texts])
    read = best_of(lambda: [read_observations(g.transcript, g.sheet, vocabulary) for g in reviews])
    print(f"reading: {sentences} sentences in {read:.2f} s, {sentences / read:.0f} sentences/s")
    print(f"  ratio to the spaCy pipeline alone ({bare:.2f} s, {sentences / bare:.0f} sentences/s): {read / bare:.2f}")


if __name__ == "__main__":
    main()
