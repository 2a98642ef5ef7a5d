"""Opening the database: durable settings, and migrations numbered in `user_version`."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from importlib.resources import files
from pathlib import Path

import click

from notes.archive.words import indexed_words
from notes.errors import BadHome
from notes.settings import make_home

FILE_NAME = "tapeside.db"


def open_database(home: Path) -> sqlite3.Connection:
    """The home's database, created or brought up to date. Raises BadHome where it cannot be used."""
    path = make_home(home) / FILE_NAME
    try:
        if not path.exists():
            path.touch(mode=0o600)
        connection = sqlite3.connect(path, isolation_level=None, timeout=30)
        connection.row_factory = sqlite3.Row
        connection.create_function("indexed_words", 1, indexed_words, deterministic=True)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA secure_delete = ON")
        _migrate(connection, path)
    except (sqlite3.Error, OSError) as error:
        raise unusable(path, error) from None
    return connection


def unusable(path: Path, error: Exception) -> BadHome:
    """The one-sentence error for a database that cannot be read or written; of a damaged one, with its last backup."""
    if not _is_damage(error):
        return BadHome(
            f'Cannot use the log "{path}" ({error}); free some space, mend its permissions or restore a backup'
        )
    backups = sorted(path.parent.glob(f"{path.name}.before-*"), key=lambda p: p.stat().st_mtime)
    offer = f'put the last backup, "{backups[-1]}", in its place' if backups else "restore a backup"
    return BadHome(f'The log "{path}" is damaged ({error}); keep a copy of it and {offer}')


def _is_damage(error: Exception) -> bool:
    return getattr(error, "sqlite_errorcode", None) in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """All that is done inside is kept together or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Run the steps that this database has not seen, all or none, after copying one that holds something."""
    steps = sorted(
        (item for item in (files("notes.archive") / "migrations").iterdir() if item.name.endswith(".sql")),
        key=lambda item: item.name,
    )
    seen: int = connection.execute("PRAGMA user_version").fetchone()[0]
    if seen > len(steps):
        raise BadHome(
            f'The log "{path}" was written by a newer tapeside (form {seen}, this one knows {len(steps)}); '
            "install that version"
        )
    if seen == len(steps):
        return
    with transaction(connection):
        # Another process may have been first.
        seen = connection.execute("PRAGMA user_version").fetchone()[0]
        if 0 < seen < len(steps):
            kept = _back_up(path, path.with_name(f"{path.name}.before-{seen + 1:03}"))
            click.echo(f"The log is brought up to date; as it was, it is kept in {kept}", err=True)
        for step in steps[seen:]:
            for statement in _statements(step.read_text(encoding="utf-8")):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {len(steps)}")


def _back_up(path: Path, backup: Path) -> Path:
    """A whole copy of the database as it was last committed, under another name."""
    unfinished = backup.with_name(f"{backup.name}.part")
    unfinished.unlink(missing_ok=True)
    unfinished.touch(mode=0o600)
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as copy:
        source.backup(copy)
    with unfinished.open("rb") as written:
        os.fsync(written.fileno())
    unfinished.replace(backup)
    return backup


def _statements(script: str) -> Iterator[str]:
    """The statements of a script one by one; `executescript` would commit the transaction first."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
