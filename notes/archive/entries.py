"""The log as it stands: made from the newest reading and the verdicts, a recording at a time."""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from notes.archive.footage import Footage
from notes.archive.people import KnownPerson, resolve
from notes.archive.rows import from_row, insert, to_row
from notes.archive.verdicts import Entry, State, Thread, Verdict, lay_over, threads_of
from notes.model import Observation


@dataclass(frozen=True, slots=True)
class Kept:
    """An entry of the log, with its recording.

    `thread` is set where a person has spoken about it, `read_as` is the id of the newest reading's observation that it
    stands for, None where that reading does not hold it. `shows` is known of the notes in an athlete's log.
    """

    observation: Observation
    recording: str
    recording_sha256: str
    day: date
    timed: bool
    verdict: State | None = None
    thread: int | None = None
    read_as: str | None = None
    footage: str | None = None
    shows: Footage | None = None

    @property
    def seen_on(self) -> date:
        """The day on which it counts as seen: the first on which its footage was reviewed."""
        return self.shows.day if self.shows else self.day


def rebuild(db: sqlite3.Connection, recording: str) -> None:
    """Bring the entries of a recording up to what follows from its reading and verdicts; what is so already is not
    touched. To be called inside the transaction that changes what they follow from."""
    timed = is_timed(db, recording)
    if not timed:
        # Their order is that of their numbers.
        db.execute("DELETE FROM entry WHERE recording = ?", (recording,))
    day = db.execute("SELECT day FROM recording WHERE sha256 = ?", (recording,)).fetchone()[0]
    old = {row["id"]: row for row in db.execute("SELECT * FROM entry WHERE recording = ?", (recording,))}
    people: dict[str, int | None] = {}
    for entry in entries_now(db, recording):
        o = entry.observation
        if o.role == "athlete" and o.athlete not in people:
            person = resolve(db, o.athlete)
            people[o.athlete] = person.id if person else None
        made = {"verdict": entry.verdict, "thread": entry.thread, "observation": entry.read_as}
        place = {"recording": recording, "day": day, "person": people[o.athlete] if o.role == "athlete" else None}
        unknown = {} if timed else {"start_ms": None, "end_ms": None}
        _write(db, old.pop(o.id, None), place | made | to_row(o) | unknown)
    db.executemany("DELETE FROM entry WHERE number = ?", [(row["number"],) for row in old.values()])


def _write(db: sqlite3.Connection, old: sqlite3.Row | None, new: dict[str, Any]) -> None:
    """Insert an entry, or change what is different in it; the index of search follows by triggers."""
    if old is None:
        insert(db, "entry", new)
    elif different := [name for name, value in new.items() if old[name] != value]:
        marks = ", ".join(f"{name} = ?" for name in different)
        db.execute(f"UPDATE entry SET {marks} WHERE number = ?", (*(new[name] for name in different), old["number"]))


def rebuild_all(db: sqlite3.Connection) -> None:
    """Make all entries anew; the log is the same before and after. To be called inside a transaction."""
    db.execute("DELETE FROM entry")
    for (recording,) in db.execute("SELECT sha256 FROM recording ORDER BY added_at, rowid").fetchall():
        rebuild(db, recording)


def entries_now(
    db: sqlite3.Connection, recording: str, read: tuple[list[Observation], list[Observation]] | None = None
) -> tuple[Entry, ...]:
    """What the log of a recording says, by its newest reading, or if `read` (logged, perhaps) were that."""
    logged, perhaps = read or newest_reading(db, recording)
    names: dict[str, str] = {}
    logged, perhaps = ([_called(db, o, names) for o in part] for part in (logged, perhaps))
    return lay_over(logged, perhaps, threads(db, recording), timed=is_timed(db, recording))


def newest_reading(db: sqlite3.Connection, recording: str) -> tuple[list[Observation], list[Observation]]:
    """What the newest reading of a recording holds: what is sure enough to be logged, and what is only offered."""
    parts: tuple[list[Observation], list[Observation]] = ([], [])
    rows = db.execute(
        "SELECT o.* FROM observation o JOIN newest_reading n ON n.id = o.reading"
        " WHERE n.recording = ? ORDER BY o.rowid",
        (recording,),
    )
    for row in rows:
        parts[row["perhaps"]].append(from_row(row))
    return parts


def threads(db: sqlite3.Connection, recording: str) -> tuple[Thread, ...]:
    """What people decided in a recording, undone verdicts too."""
    names: dict[str, str] = {}
    stood: dict[int | None, frozenset[str]] = {None: frozenset()}
    found = []
    for row in db.execute("SELECT * FROM verdict WHERE recording = ? ORDER BY id", (recording,)).fetchall():
        reading = row["reading"]
        if reading not in stood:
            ids = db.execute("SELECT id FROM observation WHERE reading = ?", (reading,))
            stood[reading] = frozenset(i for (i,) in ids)
        seen = _called(db, from_row(json.loads(row["seen"])), names)
        changes: dict[str, Any] = {
            name: tuple(value) if isinstance(value, list) else value
            for name, value in json.loads(row["changes"]).items()
        }
        if "athlete" in changes and changes["role"] == "athlete":
            changes["athlete"] = _name(db, changes["athlete"], names)
        found.append(
            Verdict(
                id=row["id"],
                thread=row["thread"],
                added=bool(row["added"]),
                state=row["state"],
                seen=seen,
                changes=changes,
                by=row["made_by"],
                at=row["made_at"],
                why=row["why"],
                beside=stood[reading] - {seen.id},
            )
        )
    return threads_of(found)


def fetch(
    db: sqlite3.Connection, where: str, values: tuple[Any, ...], shown: Mapping[str, Footage] | None = None
) -> list[Kept]:
    """Entries by a condition on `e` (entry) and `c` (recording), oldest first, in spoken order.

    shown: the footage of recordings by their SHA-256, where it is asked for.
    """
    rows = db.execute(
        "SELECT e.*, c.name AS recording_name, c.footage"
        " FROM entry e JOIN recording c INDEXED BY recording_facts ON c.sha256 = e.recording"
        f" WHERE {where} ORDER BY e.day, c.added_at, c.sha256, coalesce(e.start_ms, e.number), e.end_ms, e.id",
        values,
    )
    return [_kept(row, shown or {}) for row in rows]


def is_timed(db: sqlite3.Connection, recording: str) -> bool:
    """Whether a recording's words have times."""
    row = db.execute("SELECT timed FROM recording INDEXED BY recording_facts WHERE sha256 = ?", (recording,))
    return bool(row.fetchone()[0])


def of_athlete(person: KnownPerson) -> tuple[str, tuple[int]]:
    """The condition for what is in an athlete's log: struck entries are in nobody's."""
    return "e.person = ? AND e.verdict IS NOT 'struck'", (person.id,)


def _kept(row: sqlite3.Row, shown: Mapping[str, Footage]) -> Kept:
    return Kept(
        observation=from_row(row),
        recording=row["recording_name"],
        recording_sha256=row["recording"],
        day=date.fromisoformat(row["day"]),
        timed=row["start_ms"] is not None,
        verdict=row["verdict"],
        thread=row["thread"],
        read_as=row["observation"],
        footage=row["footage"],
        shows=shown.get(row["recording"]),
    )


def _called(db: sqlite3.Connection, o: Observation, names: dict[str, str]) -> Observation:
    """An observation under the athlete's own name, where the sheet has an alias or a merged one."""
    return replace(o, athlete=_name(db, o.athlete, names)) if o.role == "athlete" else o


def _name(db: sqlite3.Connection, name: str, names: dict[str, str]) -> str:
    if name not in names:
        person = resolve(db, name)
        names[name] = person.name if person else name
    return names[name]
