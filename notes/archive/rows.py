"""Observations as rows of the database and back."""

import json
import sqlite3
from collections.abc import Mapping
from typing import Any

from notes.model import Observation

COLUMNS = (
    "id", "athlete", "role", "kind", "techniques", "faults", "fixes", "why", "unlisted", "start_ms", "end_ms",
    "footage_ms", "round", "again", "quote", "confidence",
)  # fmt: skip
_LISTS = ("techniques", "faults", "fixes")


def to_row(o: Observation) -> dict[str, Any]:
    """The columns of an observation; lists as JSON."""
    return {name: getattr(o, name) for name in COLUMNS} | {name: json.dumps(getattr(o, name)) for name in _LISTS}


def from_row(row: sqlite3.Row | Mapping[str, Any]) -> Observation:
    """An observation from its columns; unknown spoken times are 0."""
    values = {name: row[name] for name in COLUMNS} | {name: tuple(json.loads(row[name])) for name in _LISTS}
    values |= {"start_ms": row["start_ms"] or 0, "end_ms": row["end_ms"] or 0, "again": bool(row["again"])}
    return Observation(**values)


def insert(db: sqlite3.Connection, table: str, values: Mapping[str, Any]) -> int:
    """Insert one row; its rowid."""
    marks = ", ".join("?" * len(values))
    cursor = db.execute(f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})", tuple(values.values()))
    return int(cursor.lastrowid or 0)
