"""Putting a backup back: the home is the old one or the restored one, whenever the work is stopped."""

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

from notes.archive import owner_files
from notes.archive.backup import Manifest, is_sound, make_backup, unpack_backup, work_folder
from notes.archive.copies import new_copy
from notes.archive.trouble import unusable
from notes.settings import FILE_NAME, make_home

RESTORING = "restoring"
_SIDE_FILES = ("-wal", "-shm")


def restore(home: Path, backup: Path) -> tuple[Manifest, Path | None]:
    """Put a backup in the place of the home's log; what it holds, and where that which was there is now.

    A sound log is backed up into the home first and replaced in one transaction, so a command that runs meanwhile
    goes on with the restored log. A damaged one is copied aside. Raises BadBackup, BadHome.
    """
    make_home(home)
    with work_folder(home / RESTORING) as folder:
        manifest = unpack_backup(backup, folder)
        live, staged = home / FILE_NAME, folder / FILE_NAME
        try:
            with closing(sqlite3.connect(staged, isolation_level=None)) as source:
                owner_files.pack(source, folder)
            aside: Path | None = None
            if live.is_file() and is_sound(live):
                aside = new_copy(home, "before-restore", ".zip")
                make_backup(home, aside)
                _replace_content(live, staged)
            else:
                if live.exists():
                    aside = _move_aside(home)
                staged.chmod(0o600)
                staged.replace(live)
            with closing(sqlite3.connect(live, isolation_level=None, timeout=30)) as database:
                owner_files.unpack(database, home)
        except sqlite3.Error as error:
            raise unusable(live, error) from None
    return manifest, aside


def _replace_content(live: Path, staged: Path) -> None:
    with (
        closing(sqlite3.connect(staged, isolation_level=None)) as source,
        closing(sqlite3.connect(live, isolation_level=None, timeout=30)) as target,
    ):
        source.backup(target)
        target.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _move_aside(home: Path) -> Path:
    """Copy a damaged log, then take away its write-ahead log, which must never be applied to another database."""
    aside = new_copy(home, "damaged")
    aside.mkdir(mode=0o700)
    parts = [home / f"{FILE_NAME}{ending}" for ending in ("", *_SIDE_FILES)]
    for part in parts:
        if part.is_file():
            shutil.copy2(part, aside / part.name)
    for part in parts[1:]:
        part.unlink(missing_ok=True)
    return aside
