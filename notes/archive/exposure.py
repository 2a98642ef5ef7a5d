"""How much was watched: the rounds or minutes that a count of notes is set against.

Rounds of a recording are known in one of two ways. By the clock: live narration with times, and a sheet that gives the
rounds; those that had run at the furthest moment of the footage reached while the coach spoke, a part counted as a
part. By word: the different rounds that its notes speak of. Minutes are those of talk, from the start to the last word.
Text without times has none. Nothing is guessed: what is unknown is None. Whoever is on the sheet is taken to be on all
of the footage.

A footage is watched once, however many recordings speak of it (`footage`): of each round the most that one of them
tells, and the longest talk, on the earliest of their days.
"""

import json
import math
import sqlite3
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from notes.archive.archive import Archive
from notes.archive.entries import Kept
from notes.archive.footage import footages_of
from notes.archive.moments import moments_of
from notes.archive.people import KnownPerson
from notes.counting import many
from notes.sheet import Sheet
from notes.times import Played, TimeMap, to_ms

Unit = Literal["round", "minute"]


@dataclass(frozen=True, slots=True)
class Watched:
    """How much one footage shows of an athlete, and the recordings that speak of it.

    `by_round` holds how much of each round was watched, 0 to 1, empty where that is unknown; `minutes` is None then.
    `rounds_by` tells whether the clock alone gives as many rounds.
    """

    recordings: frozenset[str]
    day: date
    by_round: Mapping[int, float]
    rounds_by: Literal["clock", "word"] | None
    minutes: float | None

    @property
    def rounds(self) -> float | None:
        """All rounds together; None where they are unknown."""
        return sum(self.by_round.values()) if self.by_round else None


@dataclass(frozen=True, slots=True)
class Exposure:
    """What was watched of an athlete in one unit, day by day, oldest first.

    `amounts` stand beside `days`. `counted` are the recordings they come from; the `left_out` others are unknown in
    this unit, and their notes enter no rate. `by_word` of those counted have the rounds that were spoken of, and
    `retold` speak of footage that another of them speaks of.
    """

    unit: Unit
    days: tuple[date, ...]
    amounts: tuple[float, ...]
    counted: frozenset[str]
    left_out: int
    by_word: int
    retold: int = 0

    @property
    def total(self) -> float:
        """All that was watched."""
        return sum(self.amounts)

    def after(self, day: date) -> float:
        """What was watched on later days."""
        return sum(amount for d, amount in zip(self.days, self.amounts, strict=True) if d > day)

    def counts(self, notes: Iterable[Kept]) -> tuple[int, ...]:
        """How many moments of the notes fall on each day, those of recordings left out not counted."""
        seen = [m[0].seen_on for m in moments_of(kept for kept in notes if kept.recording_sha256 in self.counted)]
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
        retold = f"{many(self.retold, 'recording')} of the same footage again" if self.retold else ""
        by_word = f"{many(self.by_word, 'recording')} by the rounds spoken of" if self.by_word else ""
        left_out = f"{many(self.left_out, 'recording')} of unknown {self.unit}s left out" if self.left_out else ""
        told = "; ".join(part for part in (retold, by_word, left_out) if part)
        return f"{what} ({told})" if told else what


NOTHING_KNOWN = Exposure("round", (), (), frozenset(), 0, 0)


def exposure(watched: Iterable[Watched]) -> Exposure:
    """Footages (oldest first) in one unit: rounds, unless fewer than half have known rounds; then minutes."""
    watched = list(watched)
    unit: Unit = "round" if 2 * sum(w.rounds is not None for w in watched) >= len(watched) else "minute"
    amounts: dict[date, float] = {}
    known, left_out = [], 0
    for w in watched:
        amount = w.rounds if unit == "round" else w.minutes
        amounts[w.day] = amounts.get(w.day, 0.0) + (amount or 0.0)
        if amount:
            known.append(w)
        else:
            left_out += len(w.recordings)
    return Exposure(
        unit=unit,
        days=tuple(amounts),
        amounts=tuple(amounts.values()),
        counted=frozenset().union(*(w.recordings for w in known)),
        left_out=left_out,
        by_word=sum(len(w.recordings) for w in known if w.rounds_by == "word") if unit == "round" else 0,
        retold=sum(len(w.recordings) - 1 for w in known),
    )


def watched_of(archive: Archive, person: KnownPerson) -> list[Watched]:
    """How much each footage shows of an athlete, oldest first."""
    rows = archive.db.execute(
        "SELECT c.sha256, c.day, c.sheet, c.timed,"
        " json_extract(c.transcript, '$.segments[#-1].end') AS end,"
        " json_extract(c.transcript, '$.playback') AS playback,"
        " (SELECT json_group_array(DISTINCT round) FROM entry WHERE recording = c.sha256 AND round) AS spoken_of"
        " FROM recording c WHERE c.sha256 IN (SELECT a.recording FROM attendance a JOIN person p ON p.id = a.person"
        "  WHERE p.id = ?1 OR p.merged_into = ?1) ORDER BY c.day, c.added_at",
        (person.id,),
    )
    shown = footages_of(archive.db, person)
    on_footage: dict[str, list[Watched]] = {}
    for row in rows:
        on_footage.setdefault(shown[row["sha256"]].key, []).append(_watched(row))
    return sorted(map(together, on_footage.values()), key=lambda w: w.day)


def watched(
    recording_sha256: str,
    day: date,
    sheet: Sheet,
    end_ms: int | None,
    playback: TimeMap | None,
    spoken_of: Collection[int],
) -> Watched:
    """How much a recording shows, from its sheet, where its talk ends (None: no times), how the footage was played, and
    the rounds that its notes speak of."""
    recordings, minutes = frozenset({recording_sha256}), end_ms / 60_000 if end_ms else None
    if sheet.round_clock and sheet.narration == "live" and end_ms:
        reached = playback.furthest(end_ms) if playback else end_ms
        if run := sheet.round_clock.run_by(reached):
            by_clock = {number: min(run - number + 1, 1.0) for number in range(1, math.ceil(run) + 1)}
            return Watched(recordings, day, by_clock, "clock", minutes)
    return Watched(recordings, day, dict.fromkeys(spoken_of, 1.0), "word" if spoken_of else None, minutes)


def together(watched: Iterable[Watched]) -> Watched:
    """What recordings of one footage show together."""
    watched = list(watched)
    rounds = _most(w.by_round for w in watched)
    by_clock = _most(w.by_round for w in watched if w.rounds_by == "clock")
    return Watched(
        recordings=frozenset().union(*(w.recordings for w in watched)),
        day=min(w.day for w in watched),
        by_round=rounds,
        rounds_by=("clock" if by_clock == rounds else "word") if rounds else None,
        minutes=max((w.minutes for w in watched if w.minutes), default=None),
    )


def _most(by_round: Iterable[Mapping[int, float]]) -> dict[int, float]:
    most: dict[int, float] = {}
    for rounds in by_round:
        for number, amount in rounds.items():
            most[number] = max(amount, most.get(number, 0.0))
    return most


def _watched(row: sqlite3.Row) -> Watched:
    played = json.loads(row["playback"] or "[]")
    return watched(
        row["sha256"],
        date.fromisoformat(row["day"]),
        Sheet.model_validate(json.loads(row["sheet"])),
        to_ms(row["end"] or 0) if row["timed"] else None,
        TimeMap(tuple(Played(to_ms(p["at"]), to_ms(p["footage"]), p["rate"]) for p in played)) if played else None,
        json.loads(row["spoken_of"]),
    )
