"""The owner's own files of a home, carried inside a database while it is restored.

They reach the home with the same transaction as the log: a restore that is killed in between is finished when the
database is opened next.
"""

import sqlite3
from pathlib import Path

from notes.settings import OWNER_FILES

_TABLE = "restored_file"


def pack(database: sqlite3.Connection, folder: Path) -> None:
    """Put the owner's files of a folder into a database; one that is not there is kept as missing."""
    database.execute(f"DROP TABLE IF EXISTS {_TABLE}")
    database.execute(f"CREATE TABLE {_TABLE} (name TEXT PRIMARY KEY, content BLOB)")
    for name in OWNER_FILES:
        path = folder / name
        content = path.read_bytes() if path.is_file() else None
        database.execute(f"INSERT INTO {_TABLE} VALUES (?, ?)", (name, content))


def unpack(database: sqlite3.Connection, home: Path) -> None:
    """Write the files that a database carries, if any, to the home, and take them out of it. Can be run again."""
    if not database.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (_TABLE,)).fetchone():
        return
    for name, content in database.execute(f"SELECT name, content FROM {_TABLE}").fetchall():
        if name not in OWNER_FILES:
            continue
        if content is None:
            (home / name).unlink(missing_ok=True)
        else:
            unfinished = home / f"{name}.part"
            unfinished.write_bytes(content)
            unfinished.replace(home / name)
    database.execute(f"DROP TABLE IF EXISTS {_TABLE}")
