"""Opening the database: durable settings, what a stopped command left to do, and migrations by `user_version`."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from notes.archive import owner_files
from notes.archive.backup import make_backup
from notes.archive.copies import new_copy
from notes.archive.steps import latest_form, statements, steps
from notes.archive.trouble import is_full, is_in_use, unusable
from notes.archive.words import indexed_words
from notes.errors import BadHome
from notes.settings import FILE_NAME, make_home

# How long another process may write before it is told that the log is in use.
_PATIENCE_S = 30.0
_SCRUB = "to-be-scrubbed"


def open_database(home: Path) -> sqlite3.Connection:
    """The home's database, created or brought up to date. Raises BadHome where it cannot be used."""
    path = make_home(home) / FILE_NAME
    try:
        if not path.exists():
            path.touch(mode=0o600)
        connection = sqlite3.connect(path, isolation_level=None, timeout=_PATIENCE_S)
        connection.row_factory = sqlite3.Row
        connection.create_function("indexed_words", 1, indexed_words, deterministic=True)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA secure_delete = ON")
        owner_files.unpack(connection, home)
        _migrate(connection, path)
        if (home / _SCRUB).exists():
            scrub(connection, home)
    except (sqlite3.Error, OSError) as error:
        raise unusable(path, error) from None
    return connection


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


def mark_for_scrubbing(home: Path) -> None:
    """Have the log scrubbed when it is opened next, should the process that is about to delete be stopped."""
    (home / _SCRUB).touch(mode=0o600)


def scrub(connection: sqlite3.Connection, home: Path) -> bool:
    """Write the database anew and empty the write-ahead log, so that nothing deleted is left in the files.

    False where another process is in the way or space is short; the mark then stays, and it is done when the log is
    opened next.
    """
    try:
        connection.execute("VACUUM")
        busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    except sqlite3.OperationalError as error:
        if not (is_in_use(error) or is_full(error)):
            raise
        return False
    if not busy:
        (home / _SCRUB).unlink(missing_ok=True)
    return not busy


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Run the steps that this database has not seen, all or none, after backing up one that holds something."""
    latest = latest_form()
    if _form(connection) > latest:
        raise BadHome(
            f'The log "{path}" was written by a newer tapeside (form {_form(connection)}, this one knows {latest}); '
            "install that version"
        )
    if _form(connection) == latest:
        return
    with transaction(connection):
        # Another process may have been first.
        seen = _form(connection)
        if 0 < seen < latest:
            kept = new_copy(path.parent, "before-upgrade", ".zip")
            make_backup(path.parent, kept)
            click.echo(f"The log is brought up to date; as it was, it is kept in {kept}", err=True)
        for step in steps()[seen:]:
            for statement in statements(step.read_text(encoding="utf-8")):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {latest}")


def _form(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
