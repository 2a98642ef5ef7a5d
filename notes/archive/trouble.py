"""What SQLite and the disk say, in one sentence that tells how to mend it."""

import sqlite3
from pathlib import Path

from notes.archive.copies import newest_backup
from notes.errors import BadHome
from notes.settings import NO_SPACE

_DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_IN_USE = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def unusable(path: Path, error: Exception) -> BadHome:
    """The error for a database that cannot be read or written; of a damaged one, with the newest backup."""
    if is_damage(error):
        newest = newest_backup(path.parent)
        mend = f'tapeside restore "{newest}"' if newest else "tapeside restore F with your newest backup"
        return BadHome(f'Cannot use the log "{path}": it is damaged ({error}); run: {mend}')
    if is_in_use(error):
        return BadHome(
            f'Cannot use the log "{path}": another tapeside is writing in it; '
            "wait until that has finished and run the same command again"
        )
    if is_full(error):
        return BadHome(f'Cannot use the log "{path}": the disk is full; free some space and run the same command again')
    return BadHome(f'Cannot use the log "{path}" ({error}); free some space or mend its permissions')


def is_damage(error: Exception) -> bool:
    """Whether SQLite says that the file is damaged or no database at all."""
    return _code(error) in _DAMAGE


def is_in_use(error: Exception) -> bool:
    """Whether another process was in the way for too long."""
    return _code(error) in _IN_USE


def is_full(error: Exception) -> bool:
    """Whether there is no space left."""
    return _code(error) == sqlite3.SQLITE_FULL or getattr(error, "errno", None) in NO_SPACE


def _code(error: Exception) -> int:
    return getattr(error, "sqlite_errorcode", 0) & 0xFF
