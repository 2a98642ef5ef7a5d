"""Names that are one person: merged and split again. Each is a record; nobody's row is deleted."""

import json
import sqlite3
from dataclasses import dataclass

from notes.archive.archive import Archive
from notes.archive.database import transaction
from notes.archive.entries import rebuild
from notes.archive.people import KnownPerson, athlete, login_name, named, now, person_of
from notes.archive.rows import insert
from notes.errors import UnknownAthlete


@dataclass(frozen=True, slots=True)
class Share:
    """What one of two people would bring: notes in their log, days on which they were reviewed."""

    person: KnownPerson
    notes: int
    days: int


def preview_merge(archive: Archive, name: str, into: str) -> tuple[Share, Share]:
    """The two who would be one, first whose name goes. Raises UnknownAthlete, also where they are one already."""
    gone, stays = (athlete(archive.db, n) for n in (name, into))
    if gone.id == stays.id:
        raise UnknownAthlete(f'"{name}" and "{into}" are one athlete already, {stays.name}; nothing to merge')
    one, other = (Share(p, len(archive.observations_of(p)), len(archive.days_of(p))) for p in (gone, stays))
    return one, other


def merge(archive: Archive, name: str, into: str, *, by: str | None = None, why: str | None = None) -> KnownPerson:
    """From now on the athlete `name` is the athlete `into`, under whose name all their notes stand."""
    with transaction(archive.db):
        gone, stays = preview_merge(archive, name, into)
        _record(archive.db, gone.person.id, stays.person.id, by, why)
        return person_of(archive.db, stays.person.id)


def split(archive: Archive, name: str, *, by: str | None = None, why: str | None = None) -> KnownPerson:
    """Take a merging back: `name` stands for an athlete of their own again. Raises UnknownAthlete if not merged."""
    with transaction(archive.db):
        row = named(archive.db, name)
        if row is None or row["merged_into"] is None:
            known = athlete(archive.db, name)
            raise UnknownAthlete(f'"{name}" was not merged into anybody; it is {known.name} alone')
        _record(archive.db, row["id"], None, by, why)
        return person_of(archive.db, row["id"])


def _record(db: sqlite3.Connection, person: int, into: int | None, by: str | None, why: str | None) -> None:
    line = {"person": person, "into_person": into, "made_by": by or login_name(), "made_at": now(), "why": why}
    insert(db, "merging", line)
    for recording in _recordings(db, _follow(db)):
        rebuild(db, recording)


def _follow(db: sqlite3.Connection) -> list[int]:
    """Point every person at the end of their chain of mergings; those who are pointed elsewhere than before."""
    newest = db.execute(
        "SELECT person, into_person FROM merging WHERE id IN (SELECT max(id) FROM merging GROUP BY person)"
    )
    into: dict[int, int | None] = dict(newest)
    before: dict[int, int | None] = dict(db.execute("SELECT id, merged_into FROM person"))
    moved = []
    for person in into:
        end = person
        while (target := into.get(end)) is not None:
            end = target
        if before[person] != (now_into := end if end != person else None):
            db.execute("UPDATE person SET merged_into = ? WHERE id = ?", (now_into, person))
            moved.append(person)
    return moved


def _recordings(db: sqlite3.Connection, people: list[int]) -> list[str]:
    """Recordings in which notes may stand under other people's names now: those that they were in, and those in which a
    person has said of a note whose it is."""
    rows = db.execute(
        "SELECT recording FROM attendance WHERE person IN (SELECT value FROM json_each(?))"
        " UNION SELECT recording FROM verdict WHERE json_extract(changes, '$.athlete') IS NOT NULL",
        (json.dumps(people),),
    )
    return [row[0] for row in rows]
