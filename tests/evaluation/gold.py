"""Gold reviews: a transcript and what a careful person logs from it."""

import math
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from notes.model import Transcript
from notes.scoring import Mark
from notes.sheet import Sheet
from notes.speech.transcripts import read_transcript
from notes.times import to_ms

CORPUS = Path(__file__).parents[1] / "corpus"


@dataclass(frozen=True)
class Gold:
    """One review; `stretches` are (start_ms, end_ms, reason) of talk that must not be logged."""

    name: str
    voice: str
    sheet: Sheet
    transcript: Transcript
    marks: tuple[Mark, ...]
    stretches: tuple[tuple[int, int, str], ...]

    @property
    def sentences(self) -> int:
        """Sentences said: by their end marks, or one for each twenty words where marks are missing."""
        return sum(
            max(1, len(re.findall(r"[.?!…]+(?:\s|$)", s.text)), math.ceil(len(s.text.split()) / 20))
            for s in self.transcript.segments
        )


def read_split(split: str) -> list[Gold]:
    """All reviews of a split, "work" or "blind", by name."""
    return [read_gold(path) for path in sorted((CORPUS / split).glob("*.gold.yaml"))]


def read_gold(path: Path) -> Gold:
    """One review from its gold file and the transcript beside it."""
    data: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    name, voice = data.pop("name"), data.pop("voice", "")
    marks, stretches = data.pop("observations"), data.pop("not", [])
    return Gold(
        name=name,
        voice=voice,
        sheet=Sheet.model_validate(data),
        transcript=read_transcript(path.with_name(path.name.replace(".gold.yaml", ".vtt"))),
        marks=tuple(_mark(mark) for mark in marks),
        stretches=tuple((to_ms(s["at"][0]), to_ms(s["at"][1]), s["reason"]) for s in stretches),
    )


def read_markings() -> list[tuple[str, tuple[Mark, ...], tuple[Mark, ...]]]:
    """Of each blind review, its name and the two independent markings that the gold was adjudicated from."""
    found = []
    for first in sorted((CORPUS / "blind" / "markings").glob("*.first.yaml")):
        both = (yaml.safe_load(path.read_text(encoding="utf-8")) for path in (first, second_of(first)))
        one, other = (tuple(_mark(mark) for mark in data["observations"]) for data in both)
        found.append((first.name.removesuffix(".first.yaml"), one, other))
    return found


def second_of(first: Path) -> Path:
    """The second marking beside a first one."""
    return first.with_name(first.name.replace(".first.", ".second."))


def _mark(data: dict[str, Any]) -> Mark:
    def choices(key: str) -> tuple[frozenset[str], ...]:
        return tuple(frozenset(item.split("|")) for item in data.get(key, []))

    footage = data.get("footage")
    return Mark(
        athlete=data["athlete"],
        kind=data["kind"],
        start_ms=to_ms(data["at"][0]),
        end_ms=to_ms(data["at"][1]),
        techniques=choices("techniques"),
        faults=choices("faults"),
        fixes=choices("fixes"),
        again=data.get("again", False),
        footage_ms=None if footage is None else to_ms(footage),
        round=data.get("round"),
    )
