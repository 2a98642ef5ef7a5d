"""How much was watched: the rounds or minutes that a count of notes is set against.

Rounds of a recording are known in one of two ways. By the clock: live narration with times, and a sheet that gives the
rounds; those that had run at the furthest moment of the footage reached while the coach spoke, a part counted as a
part. By word: the different rounds that its notes speak of. Minutes are those of talk, from the start to the last word.
Text without times has none. Nothing is guessed: what is unknown is None. Whoever is on the sheet is taken to be on all
of the footage.
"""

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from notes.archive.archive import Archive
from notes.archive.entries import Kept
from notes.archive.people import KnownPerson
from notes.sheet import Sheet
from notes.times import Played, TimeMap, to_ms

Unit = Literal["round", "minute"]


@dataclass(frozen=True, slots=True)
class Watched:
    """How much one recording shows of an athlete; None where that is unknown."""

    recording_sha256: str
    day: date
    rounds: float | None
    rounds_by: Literal["clock", "word"] | None
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Exposure:
    """What was watched of an athlete in one unit, day by day, oldest first.

    `amounts` stand beside `days`. `counted` are the recordings they come from; the `left_out` others are unknown in
    this unit, and their notes enter no rate. `by_word` of those counted have the rounds that were spoken of.
    """

    unit: Unit
    days: tuple[date, ...]
    amounts: tuple[float, ...]
    counted: frozenset[str]
    left_out: int
    by_word: int

    @property
    def total(self) -> float:
        """All that was watched."""
        return sum(self.amounts)

    def after(self, day: date) -> float:
        """What was watched on later days."""
        return sum(amount for d, amount in zip(self.days, self.amounts, strict=True) if d > day)

    def counts(self, notes: Iterable[Kept]) -> tuple[int, ...]:
        """How many of the notes fall on each day, those of recordings left out not counted."""
        seen = [kept.day for kept in notes if kept.recording_sha256 in self.counted]
        return tuple(seen.count(day) for day in self.days)

    def told(self, amount: float) -> str:
        """An amount in words: "12 rounds", "1.5 rounds", "40 minutes"."""
        number = f"{amount:.1f}".removesuffix(".0")
        return f"{number} {self.unit}" if number == "1" else f"{number} {self.unit}s"

    @property
    def summary(self) -> str:
        """What was watched, and how that is known, in one line."""
        if not self.counted:
            return "how much was watched is unknown"
        what = f"{self.told(self.total)} {'watched' if self.unit == 'round' else 'of talk'}"
        by_word = f"{_recordings(self.by_word)} by the rounds spoken of" if self.by_word else ""
        left_out = f"{_recordings(self.left_out)} of unknown {self.unit}s left out" if self.left_out else ""
        told = "; ".join(part for part in (by_word, left_out) if part)
        return f"{what} ({told})" if told else what


NOTHING_KNOWN = Exposure("round", (), (), frozenset(), 0, 0)


def exposure(watched: Iterable[Watched]) -> Exposure:
    """Recordings (oldest first) in one unit: rounds, unless fewer than half have known rounds; then minutes."""
    recordings = list(watched)
    unit: Unit = "round" if 2 * sum(w.rounds is not None for w in recordings) >= len(recordings) else "minute"
    known = {w.recording_sha256: w.rounds if unit == "round" else w.minutes for w in recordings}
    counted = frozenset(sha256 for sha256, amount in known.items() if amount)
    amounts: dict[date, float] = {}
    for w in recordings:
        amounts[w.day] = amounts.get(w.day, 0.0) + (known[w.recording_sha256] or 0.0)
    return Exposure(
        unit=unit,
        days=tuple(amounts),
        amounts=tuple(amounts.values()),
        counted=counted,
        left_out=len(recordings) - len(counted),
        by_word=sum(w.rounds_by == "word" and w.recording_sha256 in counted for w in recordings) * (unit == "round"),
    )


def watched_of(archive: Archive, person: KnownPerson) -> list[Watched]:
    """How much each recording of an athlete shows, oldest first."""
    rows = archive.db.execute(
        "SELECT c.sha256, c.day, c.sheet, json_extract(c.transcript, '$.timed') AS timed,"
        " json_extract(c.transcript, '$.segments[#-1].end') AS end,"
        " json_extract(c.transcript, '$.playback') AS playback,"
        " (SELECT count(DISTINCT e.round) FROM entry e WHERE e.recording = c.sha256) AS spoken_of"
        " FROM recording c WHERE c.sha256 IN (SELECT a.recording FROM attendance a JOIN person p ON p.id = a.person"
        "  WHERE p.id = ?1 OR p.merged_into = ?1) ORDER BY c.day, c.added_at",
        (person.id,),
    )
    return [_watched(row) for row in rows]


def watched(
    recording_sha256: str, day: date, sheet: Sheet, end_ms: int | None, playback: TimeMap | None, spoken_of: int
) -> Watched:
    """How much a recording shows, from its sheet, where its talk ends (None: no times), how the footage was played, and
    how many different rounds its notes speak of."""
    minutes = end_ms / 60_000 if end_ms else None
    if sheet.round_clock and sheet.narration == "live" and end_ms:
        reached = playback.furthest(end_ms) if playback else end_ms
        if run := sheet.round_clock.run_by(reached):
            return Watched(recording_sha256, day, run, "clock", minutes)
    if spoken_of:
        return Watched(recording_sha256, day, float(spoken_of), "word", minutes)
    return Watched(recording_sha256, day, None, None, minutes)


def _watched(row: sqlite3.Row) -> Watched:
    played = json.loads(row["playback"] or "[]")
    return watched(
        row["sha256"],
        date.fromisoformat(row["day"]),
        Sheet.model_validate(json.loads(row["sheet"])),
        to_ms(row["end"] or 0) if row["timed"] else None,
        TimeMap(tuple(Played(to_ms(p["at"]), to_ms(p["footage"]), p["rate"]) for p in played)) if played else None,
        row["spoken_of"],
    )


def _recordings(number: int) -> str:
    return "1 recording" if number == 1 else f"{number} recordings"
