"""What script.yaml tells: sentences to be spoken, moves to be drawn, and the rounds. Times in seconds."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml


@dataclass(frozen=True)
class Sentence:
    """One spoken sentence and the second of its recording at which it starts."""

    at: float
    say: str
    shows: str


@dataclass(frozen=True)
class Moment:
    """One move: `does` names an entry of moves.ACTIONS, landing `at` seconds into the footage."""

    at: float
    who: str
    does: str
    lands: bool = True


@dataclass(frozen=True)
class Rounds:
    """Round times in seconds of footage."""

    count: int
    length: float
    rest: float
    first_starts_at: float

    def start(self, number: int) -> float:
        """Footage second at which round `number` (1, 2, ...) starts."""
        return self.first_starts_at + (number - 1) * (self.length + self.rest)

    def at(self, t: float) -> tuple[str, float]:
        """What the round clock shows at footage second t: a label and the seconds left."""
        if t < self.first_starts_at:
            return "Ready", self.first_starts_at - t
        for number in range(1, self.count + 1):
            end = self.start(number) + self.length
            if t < end:
                return f"Round {number}", end - t
            if number < self.count and t < end + self.rest:
                return "Rest", end + self.rest - t
        return "Time", 0.0

    def fighting(self, t: float) -> bool:
        """Whether a round is on at footage second t."""
        return self.at(t)[0].startswith("Round")


class ScriptError(Exception):
    """Something in script.yaml that cannot be made; the message is for a person."""


def read_script(path: Path) -> dict[str, Any]:
    """The parsed script.yaml."""
    script: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return script


def sentences_of(script: dict[str, Any], name: str) -> list[Sentence]:
    """The sentences of one recording, in the order they are spoken."""
    return [Sentence(**row) for row in script["recordings"][name]["sentences"]]


def moments_of(script: dict[str, Any], moves: Collection[str]) -> list[Moment]:
    """The moves of the footage; people not in the script and moves not in `moves` are refused."""
    moments = [Moment(**row) for row in script["moments"]]
    names = {athlete["name"] for athlete in script["athletes"]}
    for moment in moments:
        if moment.does not in moves:
            raise ScriptError(f"moment at {moment.at} s: no move is called '{moment.does}'")
        if moment.who not in names:
            raise ScriptError(f"moment at {moment.at} s: nobody is called '{moment.who}'")
    return moments
