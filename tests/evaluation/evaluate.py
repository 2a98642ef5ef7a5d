"""Read the corpus and print how well it was read: `evaluate.py [SPLIT] [--misses] [--first-reader-only]`.

Splits: work (rules are tuned on it), tune (shows how rules carry over while working), blind. Of the blind split only
totals are printed: the rules must never be tuned to it.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable

from causes import causes, confusions
from gold import Gold, read_markings, read_split

import lexicon
from notes.model import Observation
from notes.reading.observations import read_review
from notes.reading.second.reader import SecondReader, second_reader
from notes.scoring import Mark, Score, score

HEADER = f"{'':<24}{'gold':>5}{'P':>7}{'R':>7}{'F1':>7}{'strict':>8}{'fix':>7}{'false/100':>11}"


def as_mark(observation: Observation) -> Mark:
    """An observation in the form that is scored."""
    return Mark(
        athlete=observation.athlete,
        kind=observation.kind,
        start_ms=observation.start_ms,
        end_ms=observation.end_ms,
        techniques=tuple(frozenset({t}) for t in observation.techniques),
        faults=tuple(frozenset({f}) for f in observation.faults),
        fixes=tuple(frozenset({f}) for f in observation.fixes),
        again=observation.again,
        footage_ms=observation.footage_ms,
        round=observation.round,
    )


def evaluate(gold: Gold, vocabulary: lexicon.Lexicon, second: SecondReader | None = None) -> Score:
    """The score of one review, by both readers or the first alone; only what was logged for athletes counts."""
    found = read_review(gold.transcript, gold.sheet, vocabulary, second).observations
    return score([as_mark(o) for o in found if o.role == "athlete"], gold.marks, gold.sentences)


def line(name: str, result: Score) -> str:
    """One row of the table."""
    return (
        f"{name:<24}{len(result.pairs) + len(result.missed):>5}{result.precision:>7.2f}{result.recall:>7.2f}"
        f"{result.f1:>7.2f}{result.strict_f1:>8.2f}{result.fix_f1:>7.2f}{result.false_per_100:>11.1f}"
    )


def groups(gold: Gold) -> Iterable[str]:
    """The rows of the table that a review adds to."""
    yield f"sport: {gold.sheet.sport}"
    yield f"narration: {gold.sheet.narration}"
    yield "athletes: one" if len(gold.sheet.athletes) == 1 else "athletes: two"
    yield "voice: one in eight" if len(gold.marks) * 8 <= gold.sentences else "voice: full"
    cues = gold.transcript.segments
    if gold.sentences <= len(cues) * 1.3:
        yield "text: a sentence a cue"
    else:
        said = " ".join(cue.text for cue in cues)
        yield "text: as recognised" if sum(said.count(c) for c in ".?!") > len(cues) else "text: without marks"


def by_kind(total: Score) -> Iterable[tuple[str, Score]]:
    """The same counts for each kind alone."""
    for kind in ("fault", "strength", "advice", "welfare"):
        pairs = [p for p in total.pairs if p.true.kind == kind]
        false = [m for m in total.false if m.kind == kind]
        yield f"kind: {kind}", Score(pairs, false, [m for m in total.missed if m.kind == kind], total.sentences)


def main() -> None:
    """Print the tables of one split, the work split unless another is named."""
    arguments = sys.argv[1:]
    split = next((a for a in arguments if not a.startswith("-")), "work")
    vocabulary = lexicon.load()
    second = None if "--first-reader-only" in arguments else second_reader(vocabulary)
    reviews = read_split(split)
    total, misplaced = Score(), 0
    grouped: dict[str, Score] = defaultdict(Score)
    traps: Counter[str] = Counter()
    errors: Counter[str] = Counter()
    readers = "both readers" if second else "first reader only"
    print(f"{split}: {len(reviews)} reviews, {sum(gold.sentences for gold in reviews)} sentences, {readers}")
    print(HEADER)
    for gold in reviews:
        result = evaluate(gold, vocabulary, second)
        total.add(result)
        misplaced += swapped(result)
        errors += causes(gold, result)
        for group in groups(gold):
            grouped[group].add(result)
        for mark in result.false:
            traps.update({r for a, b, r in gold.stretches if mark.start_ms < b and a < mark.end_ms})
        if split != "blind":
            print(line(gold.name, result), f" {gold.voice}")
            if "--misses" in arguments:
                print_misses(gold, result)
    for name, part in [*sorted(grouped.items()), *by_kind(total), ("all", total)]:
        print(line(name, part))
    if split == "blind":
        print(line("two people agree", ceiling(reviews)))
    print("athlete right:", share(len(total.pairs), len(total.pairs) + misplaced))
    print("\n".join(moments(total)))
    print("false logs in stretches that must not be logged:", dict(traps.most_common()))
    print_counts("most frequent causes of error", errors)
    if split != "blind":
        print_counts("faults most often confused", confusions(total))


def print_counts(title: str, counts: Counter[str]) -> None:
    """The ten largest counts."""
    print(f"{title}:")
    for name, count in counts.most_common(10):
        print(f"{count:>6}  {name}")


def ceiling(reviews: list[Gold]) -> Score:
    """How well the second person's markings score against the first's: what "right" can mean at most."""
    sentences = {gold.name: gold.sentences for gold in reviews}
    total = Score()
    for name, first, second in read_markings():
        total.add(score(second, first, sentences[name]))
    return total


def swapped(result: Score) -> int:
    """False logs that meet a missed mark of the same kind and time: right but for the athlete."""
    return sum(
        any(
            m.kind == f.kind and m.athlete != f.athlete and m.start_ms < f.end_ms and f.start_ms < m.end_ms
            for m in result.missed
        )
        for f in result.false
    )


def moments(total: Score) -> Iterable[str]:
    """How often footage time (within 3 s), round and `again` are right, of the pairs whose gold gives them."""
    timed = [p for p in total.pairs if p.true.footage_ms is not None]
    right = sum(
        p.predicted.footage_ms is not None and abs(p.predicted.footage_ms - (p.true.footage_ms or 0)) <= 3_000
        for p in timed
    )
    yield f"footage time within 3 s: {share(right, len(timed))}"
    rounds = [p for p in total.pairs if p.true.round is not None]
    yield f"round right: {share(sum(p.predicted.round == p.true.round for p in rounds), len(rounds))}"
    repeats = [p for p in total.pairs if p.true.again]
    yield f"again, where said: {share(sum(p.predicted.again for p in repeats), len(repeats))}"
    claimed = [p for p in total.pairs if p.predicted.again]
    yield f"again, where read: {share(sum(p.true.again for p in claimed), len(claimed))}"


def share(right: int, whole: int) -> str:
    """A share with what it is of."""
    return f"{right / whole:.1%} of {whole}" if whole else "none to tell"


def print_misses(gold: Gold, result: Score) -> None:
    """What was missed, invented or mistaken, with the words."""

    def words(mark: Mark) -> str:
        return " / ".join(
            s.text for s in gold.transcript.segments if s.start_ms < mark.end_ms and mark.start_ms < s.end_ms
        )[:300]

    def ids(mark: Mark) -> str:
        return " ".join(
            ",".join("|".join(sorted(c)) for c in part) or "-" for part in (mark.techniques, mark.faults, mark.fixes)
        )

    for mark in result.missed:
        print(f"   MISS  {mark.kind:<8} {ids(mark)} :: {words(mark)}")
    for mark in result.false:
        print(f"   FALSE {mark.kind:<8} {ids(mark)} :: {words(mark)}")
    for pair in result.pairs:
        if not pair.strict:
            print(f"   WRONG {pair.true.kind:<8} {ids(pair.true)} <> {ids(pair.predicted)} :: {words(pair.true)}")


if __name__ == "__main__":
    main()
