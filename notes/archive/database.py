"""Opening the database: durable settings, and migrations numbered in `user_version`."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from notes.archive import owner_files
from notes.archive.copies import newest_backup
from notes.errors import BadHome
from notes.settings import NO_SPACE, make_home

FILE_NAME = "tapeside.db"
# How long another process may write before it is told that the log is in use.
_PATIENCE_S = 30.0
_SCRUB = "to-be-scrubbed"
_IN_USE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def open_database(home: Path) -> sqlite3.Connection:
    """The home's database, created or brought up to date. Raises BadHome where it cannot be used."""
    path = make_home(home) / FILE_NAME
    try:
        if not path.exists():
            path.touch(mode=0o600)
        connection = sqlite3.connect(path, isolation_level=None, timeout=_PATIENCE_S)
        connection.row_factory = sqlite3.Row
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


def mark_for_scrubbing(home: Path) -> None:
    """Have the log scrubbed when it is opened next, should the process that is about to delete be stopped."""
    (home / _SCRUB).touch(mode=0o600)


def scrub(connection: sqlite3.Connection, home: Path) -> bool:
    """Write the database anew and empty the write-ahead log, so that nothing deleted is left in the files.

    False where another process is in the way; the mark then stays, and it is done when the log is opened next.
    """
    try:
        connection.execute("VACUUM")
        busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF not in _IN_USE:
            raise
        return False
    if not busy:
        (home / _SCRUB).unlink(missing_ok=True)
    return not busy


def unusable(path: Path, error: Exception) -> BadHome:
    """The one-sentence error for a database that cannot be read or written; it offers the newest backup for a damaged
    one."""
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF
    if is_damage(error):
        newest = newest_backup(path.parent)
        mend = f'tapeside restore "{newest}"' if newest else "tapeside restore F with your newest backup"
        return BadHome(f'Cannot use the log "{path}": it is damaged ({error}); run: {mend}')
    if code in _IN_USE:
        return BadHome(
            f'Cannot use the log "{path}": another tapeside is writing in it; '
            "wait until that has finished and run the same command again"
        )
    if code == sqlite3.SQLITE_FULL or getattr(error, "errno", None) in NO_SPACE:
        return BadHome(f'Cannot use the log "{path}": the disk is full; free some space and run the same command again')
    return BadHome(f'Cannot use the log "{path}" ({error}); free some space or mend its permissions')


def is_damage(error: Exception) -> bool:
    """Whether SQLite says that the file is damaged or no database at all."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def latest_form() -> int:
    """The number of the last migration that this program knows."""
    return len(_steps())


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
    """Run the steps that this database has not seen; a step and its number are kept together."""
    steps = _steps()
    seen: int = connection.execute("PRAGMA user_version").fetchone()[0]
    if seen > len(steps):
        raise BadHome(
            f'The log "{path}" was written by a newer tapeside (form {seen}, this one knows {len(steps)}); '
            "install that version"
        )
    for number, step in enumerate(steps[seen:], seen + 1):
        with transaction(connection):
            for statement in _statements(step.read_text(encoding="utf-8")):
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number}")


def _steps() -> list[Traversable]:
    steps = (files("notes.archive") / "migrations").iterdir()
    return sorted((step for step in steps if step.name.endswith(".sql")), key=lambda step: step.name)


def _statements(script: str) -> Iterator[str]:
    """The statements of a script one by one; `executescript` would commit the transaction first."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
