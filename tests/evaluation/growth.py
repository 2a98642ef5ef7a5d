"""How F1 grows with the vocabulary: the blind reviews read with random parts of it (totals only).

A part is a share of all patterns, drawn with a fixed seed. The last column is what a hundred more patterns bring
between one part and the next.
"""

import random

from evaluate import evaluate
from gold import read_split

import lexicon
from notes.scoring import Score

SHARES = (0.125, 0.25, 0.5, 0.75, 0.9, 1.0)


def part_of(whole: lexicon.Lexicon, share: float) -> lexicon.Lexicon:
    """A vocabulary with that share of the patterns of every entry."""
    draw = random.Random(1)
    entries = {
        entry.id: entry.model_copy(update={"say": tuple(draw.sample(entry.say, max(1, round(len(entry.say) * share))))})
        for entry in whole.entries.values()
    }
    return lexicon.Lexicon(entries, whole.cues, whole.classes, whole.terms)


def main() -> None:
    """Print the curve."""
    whole = lexicon.load()
    reviews = read_split("blind")
    print(f"{'patterns':>9}{'F1':>7}{'strict':>8}{'F1 per 100 more':>18}")
    before: tuple[int, float] | None = None
    for share in SHARES:
        vocabulary = part_of(whole, share)
        total = Score()
        for gold in reviews:
            total.add(evaluate(gold, vocabulary))
        patterns = sum(len(entry.say) for entry in vocabulary.entries.values())
        gain = f"{(total.f1 - before[1]) / (patterns - before[0]) * 100:+.4f}" if before else ""
        print(f"{patterns:>9}{total.f1:>7.3f}{total.strict_f1:>8.3f}{gain:>18}")
        before = (patterns, total.f1)


if __name__ == "__main__":
    main()
