"""Why a review was read wrongly: each error under one plain cause."""

from collections import Counter

from gold import Gold

from notes.scoring import Mark, Pair, Score


def causes(gold: Gold, result: Score) -> Counter[str]:
    """Errors of one review by cause."""
    found: Counter[str] = Counter()
    for mark in result.missed:
        found[_why_missed(mark, result)] += 1
    for mark in result.false:
        found[_why_false(mark, gold, result)] += 1
    for pair in result.pairs:
        if not pair.strict:
            found[_why_not_strict(pair)] += 1
    return found


def _why_missed(mark: Mark, result: Score) -> str:
    near = [f for f in (*result.false, *(p.predicted for p in result.pairs)) if _meet(f, mark)]
    if any(f.kind == mark.kind and f.athlete != mark.athlete for f in near):
        return f"{mark.kind} missed: given to another athlete"
    if any(f.kind != mark.kind for f in near if f in result.false):
        return f"{mark.kind} missed: taken for another kind"
    if near:
        return f"{mark.kind} missed: joined with a neighbour"
    return f"{mark.kind} missed: nothing read there"


def _why_false(mark: Mark, gold: Gold, result: Score) -> str:
    reasons = [r for a, b, r in gold.stretches if mark.start_ms < b and a < mark.end_ms]
    if reasons:
        return f"{mark.kind} invented: in {reasons[0]}"
    if any(_meet(mark, p.true) and p.true.kind == mark.kind for p in result.pairs):
        return f"{mark.kind} invented: said once, logged twice"
    if any(_meet(mark, m) for m in result.missed):
        return f"{mark.kind} invented: another kind was meant"
    return f"{mark.kind} invented: nothing judged there"


def _why_not_strict(pair: Pair) -> str:
    if pair.true.kind == "fault" and not _share(pair.predicted.faults, pair.true.faults):
        if frozenset({"unlisted"}) in pair.predicted.faults:
            return "fault told, but no id found for it"
        if any("unlisted" in choice for choice in pair.true.faults):
            return "an unlisted fault taken for a listed one"
        return "one fault taken for another"
    if not pair.predicted.techniques:
        return f"{pair.true.kind}: technique not found"
    if not pair.true.techniques:
        return f"{pair.true.kind}: technique named that was not meant"
    return f"{pair.true.kind}: one technique taken for another"


def confusions(total: Score) -> Counter[str]:
    """Which fault was taken for which."""
    return Counter(
        f"{'|'.join(sorted(pair.true.faults[0]))} read as {'|'.join(sorted(pair.predicted.faults[0]))}"
        for pair in total.pairs
        if pair.true.kind == "fault" and not _share(pair.predicted.faults, pair.true.faults)
    )


def _meet(a: Mark, b: Mark) -> bool:
    return a.start_ms < b.end_ms and b.start_ms < a.end_ms


def _share(a: tuple[frozenset[str], ...], b: tuple[frozenset[str], ...]) -> bool:
    return any(x & y for x in a for y in b)
