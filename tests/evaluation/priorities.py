"""How often the program's three priorities are those that a second person picked from the same log.

Run: python tests/evaluation/priorities.py
"""

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import yaml
from gold import CORPUS, read_gold

import lexicon
from notes.archive.entries import Kept
from notes.model import UNLISTED, Observation
from notes.report.priorities import choose_priorities

CASES = Path(__file__).with_name("priorities.yaml")
_SAID = re.compile(r"^(?P<fault>[a-z-]+)(?P<again> again)?(?: \| (?P<why>.+))?$")


def main() -> None:
    """Print each case whose choice differs, then the totals."""
    vocabulary = lexicon.load()
    shared = first = whole = wanted = 0
    chance = 0.0
    kinds = {"marked reviews": [0, 0], "invented logs": [0, 0]}
    cases = yaml.safe_load(CASES.read_text(encoding="utf-8"))
    for case in cases:
        span, earlier = _of_review(case) if "review" in case else _of_sessions(case)
        chosen = [p.line.key for p in choose_priorities(span, earlier, vocabulary)]
        picks = case["picks"]
        same = len(set(chosen) & set(picks))
        shared, wanted, whole = shared + same, wanted + len(picks), whole + (same == len(picks))
        first += chosen[0] == picks[0]
        faults = {fault for kept in span for fault in kept.observation.faults}
        chance += len(picks) * len(chosen) / max(len(faults), len(chosen))
        kind = kinds["marked reviews" if "review" in case else "invented logs"]
        kind[:] = kind[0] + same, kind[1] + len(picks)
        print(f"{case['athlete']:>11}  {same} of 3  person: {', '.join(picks)}\n{'':>21}program: {', '.join(chosen)}")
    print(f"\npicks that the program chose too: {shared} of {wanted} ({shared / wanted:.0%})")
    print(f"by chance: {chance:.0f}; " + "; ".join(f"{name}: {a} of {b}" for name, (a, b) in kinds.items()))
    print(f"all three the same: {whole} of {len(cases)}; the first the same: {first} of {len(cases)}")


def _of_review(case: dict[str, Any]) -> tuple[list[Kept], list[Kept]]:
    gold = read_gold(CORPUS / f"{case['review']}.gold.yaml")
    notes = []
    for mark in gold.marks:
        if mark.athlete == case["athlete"] and mark.kind == "fault":
            faults = tuple(next(iter(sorted(choice))) for choice in mark.faults)
            notes.append(_kept(case["athlete"], date(2031, 3, 1), mark.start_ms, faults, mark.again, None))
    return notes, []


def _of_sessions(case: dict[str, Any]) -> tuple[list[Kept], list[Kept]]:
    *before, newest = sorted(case["sessions"])
    return list(_notes(case, [newest])), list(_notes(case, before))


def _notes(case: dict[str, Any], days: list[date]) -> Iterator[Kept]:
    for on, (place, text) in ((d, item) for d in days for item in enumerate(case["sessions"][d])):
        said = _SAID.match(text)
        assert said, text
        yield _kept(case["athlete"], on, place * 10_000, (said["fault"],), bool(said["again"]), said["why"])


def _kept(athlete: str, on: date, start_ms: int, faults: tuple[str, ...], again: bool, why: str | None) -> Kept:
    observation = Observation(
        athlete=athlete, role="athlete", kind="fault", techniques=(), faults=faults, fixes=(), why=why,
        unlisted="in the coach's words" if UNLISTED in faults else None, start_ms=start_ms, end_ms=start_ms + 3_000,
        footage_ms=None, round=None, again=again, quote="", confidence=1.0,
    )  # fmt: skip
    return Kept(observation, "review", "0" * 64, on, timed=True)


if __name__ == "__main__":
    main()
