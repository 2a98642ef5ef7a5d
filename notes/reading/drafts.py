"""Observations in the making."""

from dataclasses import dataclass, field
from typing import Literal

from notes.model import Kind
from notes.reading.people import Person

# What an observation was opened by: a fault's own wording; a wanted action that did not happen; an order to act, known
# or unknown to the vocabulary; a picture; "again"; a praising word; a fault denied; a change told; a rule or homework;
# an opponent's opening to use; a welfare sign; the second reader's judgement alone.
Evidence = Literal[
    "name",
    "lack",
    "order",
    "unknown order",
    "picture",
    "repeat",
    "praise",
    "denial",
    "change",
    "rule",
    "opening",
    "sign",
    "judged",
]


@dataclass
class Draft:
    """One observation over remarks first..last; `token` is where its evidence starts."""

    person: Person
    kind: Kind
    evidence: Evidence
    first: int
    last: int
    token: int
    techniques: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    fixes: list[str] = field(default_factory=list)
    again: bool = False
    confidence: float | None = None

    def spread(self, place: int) -> None:
        """Take in the remark at `place`."""
        self.first, self.last = min(self.first, place), max(self.last, place)
