"""Everybody in the log: under which names, since when, and how much is kept of them."""

import sqlite3
from dataclasses import dataclass
from datetime import date

from notes.archive.archive import Archive
from notes.archive.people import KnownPerson, resolve


@dataclass(frozen=True, slots=True)
class Member:
    """An athlete of the log: aliases and merged names, days of their sessions in order, observations in their log."""

    person: KnownPerson
    others: tuple[str, ...]
    days: tuple[date, ...]
    notes: int


def roster(archive: Archive) -> list[Member]:
    """Every athlete, by name."""
    names = archive.db.execute("SELECT name FROM person WHERE merged_into IS NULL ORDER BY name").fetchall()
    people = [person for (name,) in names if (person := resolve(archive.db, name))]
    return [
        Member(
            person,
            tuple(name for name in names_of(archive.db, person) if name != person.name),
            tuple(archive.days_of(person)),
            len(archive.observations_of(person)),
        )
        for person in people
    ]


def ids_of(db: sqlite3.Connection, person: KnownPerson) -> set[int]:
    """The ids of a person and of those merged into them."""
    rows = db.execute("SELECT id FROM person WHERE id = ?1 OR merged_into = ?1", (person.id,))
    return {row[0] for row in rows}


def names_of(db: sqlite3.Connection, person: KnownPerson) -> list[str]:
    """Every name and alias of a person, and of those merged into them."""
    rows = db.execute(
        "SELECT name FROM person WHERE id = ?1 OR merged_into = ?1 UNION"
        " SELECT a.name FROM alias a JOIN person p ON p.id = a.person WHERE p.id = ?1 OR p.merged_into = ?1 ORDER BY 1",
        (person.id,),
    )
    return [row[0] for row in rows]
