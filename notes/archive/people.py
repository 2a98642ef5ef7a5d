"""People of the log: who a name stands for, and names merged to one person and split again."""

import getpass
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime

from rapidfuzz import fuzz, process

from notes.archive.rows import insert
from notes.errors import UnknownAthlete
from notes.sheet import Athlete


@dataclass(frozen=True, slots=True)
class KnownPerson:
    """An athlete of the log."""

    id: int
    name: str
    stance: str | None
    junior: bool


def now() -> str:
    """This moment, as it is written beside what is kept."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def login_name() -> str:
    """Who runs the program, where nobody else is named."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


def named(db: sqlite3.Connection, name: str) -> sqlite3.Row | None:
    """The row of the person who bears a name or alias, merged or not; a name goes before an alias."""
    row: sqlite3.Row | None = db.execute(
        "SELECT p.*, 0 AS place FROM person p WHERE p.name = :name"
        " UNION ALL SELECT p.*, 1 FROM alias a JOIN person p ON p.id = a.person WHERE a.name = :name"
        " ORDER BY place LIMIT 1",
        {"name": name},
    ).fetchone()
    return row


def person_of(db: sqlite3.Connection, number: int) -> KnownPerson:
    """The person of an id, merged ones followed. Who is marked a junior under any of their names is one."""
    row = db.execute(
        "SELECT p.*, (SELECT max(junior) FROM person WHERE id = p.id OR merged_into = p.id) AS any_junior FROM person p"
        " WHERE p.id = (SELECT coalesce(merged_into, id) FROM person WHERE id = ?)",
        (number,),
    ).fetchone()
    return KnownPerson(row["id"], row["name"], row["stance"], bool(row["any_junior"]))


def resolve(db: sqlite3.Connection, name: str) -> KnownPerson | None:
    """The person that a name or alias stands for, merged names followed."""
    row = named(db, name)
    return person_of(db, row["id"]) if row else None


def athlete(db: sqlite3.Connection, name: str) -> KnownPerson:
    """The athlete of that name or alias. Raises UnknownAthlete with the nearest known name."""
    if person := resolve(db, name):
        return person
    known = [r[0] for r in db.execute("SELECT name FROM person UNION SELECT name FROM alias ORDER BY 1")]
    near = process.extractOne(name.lower(), known, scorer=fuzz.ratio, processor=str.lower, score_cutoff=50)
    if near:
        raise UnknownAthlete(f'No athlete called "{name}" in the log; did you mean "{near[0]}"?')
    raise UnknownAthlete(f'No athlete called "{name}" in the log; add a recording of them first')


def keep_person(db: sqlite3.Connection, on_sheet: Athlete) -> int:
    """The id of a sheet's athlete, known by any of their names, or new; merged persons stay apart here."""
    if known := next((row for name in on_sheet.names if (row := named(db, name))), None):
        person = int(known["id"])
        db.execute(
            "UPDATE person SET stance = coalesce(?, stance), junior = max(junior, ?) WHERE id = ?",
            (on_sheet.stance, on_sheet.junior, person),
        )
    else:
        values = {"name": on_sheet.name, "stance": on_sheet.stance, "junior": on_sheet.junior}
        person = insert(db, "person", values)
    for name in on_sheet.names:
        if named(db, name) is None:
            db.execute("INSERT INTO alias VALUES (?, ?)", (name, person))
    return person
