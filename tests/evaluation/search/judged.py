"""Judged searches: what a coach might type, and how well each note of the corpus answers it.

The notes are the gold observations of the splits work, train and tune (never blind), with the ids that a person marked.
How each query is judged stands at the top of `queries.yaml`.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from gold import read_split

from notes.model import UNLISTED, Observation
from notes.scoring import Choice

SPLITS = ("work", "train", "tune")
_QUERIES = Path(__file__).with_name("queries.yaml")


@dataclass(frozen=True)
class Note:
    """One gold observation; `sure` ids are the ones that a person would choose, `fair` ones may be."""

    recording: str
    observation: Observation
    sure: frozenset[str]
    fair: frozenset[str]


@dataclass(frozen=True)
class Query:
    """A typed text and the grade (2 exactly, 1 nearly) of each note that answers it, by the note's place."""

    text: str
    sort: str
    grades: dict[int, int]


@cache
def corpus_notes() -> tuple[Note, ...]:
    """Every gold observation, in the order of splits, reviews and time."""
    return tuple(note for split in SPLITS for note in _notes(split))


def judged_texts() -> list[str]:
    """The texts of all queries."""
    return [str(wanted["q"]) for wanted in _wanted()]


def judged_queries() -> list[Query]:
    """All queries that at least one note answers. Those of even place are for tuning, the others held back."""
    queries = [Query(str(w["q"]), _sort(w), _grades(w)) for w in _wanted()]
    return [query for query in queries if query.grades]


def _wanted() -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = yaml.safe_load(_QUERIES.read_text(encoding="utf-8"))
    return found


def _notes(split: str) -> Iterator[Note]:
    for review in read_split(split):
        for mark in review.marks:
            said = [s.text for s in review.transcript.segments if s.start_ms < mark.end_ms and s.end_ms > mark.start_ms]
            choices = (*mark.techniques, *mark.faults, *mark.fixes)
            observation = Observation(
                athlete=mark.athlete,
                role="athlete",
                kind=mark.kind,
                techniques=_chosen(mark.techniques),
                faults=_chosen(mark.faults),
                fixes=_chosen(mark.fixes),
                why=None,
                unlisted=" ".join(said) if UNLISTED in _chosen(mark.faults) else None,
                start_ms=mark.start_ms,
                end_ms=mark.end_ms,
                footage_ms=mark.footage_ms,
                round=mark.round,
                again=mark.again,
                quote=" ".join(said),
                confidence=1.0,
            ).with_id(review.name)
            sure = frozenset(next(iter(c)) for c in choices if len(c) == 1)
            yield Note(review.name, observation, sure, frozenset(i for c in choices for i in c))


def _chosen(choices: tuple[Choice, ...]) -> tuple[str, ...]:
    """One id of each choice, as a log keeps them; none where leaving it out is fair."""
    return tuple(sorted(c)[0] for c in choices if "none" not in c)


def _sort(wanted: dict[str, Any]) -> str:
    if "athlete" in wanted:
        return "athlete"
    return "concept" if "means" in wanted else "phrase" if "phrase" in wanted else "words"


def _grades(wanted: dict[str, Any]) -> dict[int, int]:
    grades = {place: _grade(wanted, note) for place, note in enumerate(corpus_notes())}
    return {place: grade for place, grade in grades.items() if grade}


def _grade(wanted: dict[str, Any], note: Note) -> int:
    if "means" in wanted:
        ids = set(wanted["means"])
        asked_for = wanted.get("athlete") in (None, note.observation.athlete)
        of_kind = wanted.get("kind") in (None, note.observation.kind)
        return 2 if ids <= note.sure and asked_for and of_kind else 1 if ids & note.fair else 0
    quote = note.observation.quote
    if "phrase" in wanted and not _says(wanted["phrase"], quote):
        return 0
    if "exactly" not in wanted or _says(wanted["exactly"], quote):
        return 2
    return 1 if "phrase" in wanted or ("nearly" in wanted and _says(wanted["nearly"], quote)) else 0


def _says(pattern: str, quote: str) -> bool:
    return re.search(rf"\b(?:{pattern})\b", quote, re.IGNORECASE) is not None
