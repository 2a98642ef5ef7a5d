"""A backup: one zip of the database, the owner's own files and a manifest that says what must be in it."""

import hashlib
import json
import os
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from notes import __version__
from notes.archive import owner_files
from notes.archive.steps import latest_form
from notes.archive.trouble import is_damage, unusable
from notes.errors import BadBackup, BadHome
from notes.settings import FILE_NAME, NO_SPACE, OWNER_FILES

_MANIFEST = "manifest.json"
_LARGEST_MANIFEST = 100_000
_FILES = {FILE_NAME, *OWNER_FILES}


class Manifest(BaseModel):
    """What a backup holds: sha256 of each file, rows of each table, and the database's form (its last migration)."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    schema_name: Annotated[Literal["tapeside-backup/1"], Field(alias="schema")] = "tapeside-backup/1"
    program_version: str
    made_at: str
    form: int
    files: dict[str, str]
    rows: dict[str, int]

    @property
    def told(self) -> str:
        """The content in a few words."""
        tables = {"recording": "recordings", "person": "athletes", "observation": "observations"}
        counts = [f"{self.rows.get(table, 0)} {plural}" for table, plural in tables.items()]
        return ", ".join([*counts, *(name for name in self.files if name != FILE_NAME)])


def make_backup(home: Path, target: Path) -> Manifest:
    """Write a backup of the home to a new file, while the log may be in use, and return what is in it.

    The database is copied as it stood at one moment. The backup is read again, unpacked and compared before it gets
    its name. Raises BadBackup where the name is taken or the file cannot be written, BadHome where there is no log.
    """
    if not (home / FILE_NAME).is_file():
        raise BadHome(f'There is no log in "{home}" to back up; name another home with --home')
    if target.exists():
        raise BadBackup(f'"{target}" is there already and was left as it is; give the backup a new name')
    with _told_in_a_sentence(target), work_folder(target.with_name(f"{target.name}.part")) as work:
        rows, form = _copy(home, work / FILE_NAME)
        for name in OWNER_FILES:
            if (home / name).is_file():
                shutil.copyfile(home / name, work / name)
        files = {path.name: _sha256(path) for path in sorted(work.iterdir())}
        now = datetime.now(UTC).isoformat(timespec="seconds")
        manifest = Manifest.model_validate(
            {"program_version": __version__, "made_at": now, "form": form, "files": files, "rows": rows}
        )
        packed = work / "backup.zip"
        _pack(packed, work, manifest)
        (work / "again").mkdir()
        unpack_backup(packed, work / "again")
        if target.exists():
            raise BadBackup(f'"{target}" has come into being meanwhile and was left; give the backup a new name')
        packed.replace(target)
    return manifest


def unpack_backup(path: Path, folder: Path) -> Manifest:
    """Unpack a backup into an empty folder and prove it whole. Raises BadBackup for a foreign, damaged or newer one."""
    try:
        with zipfile.ZipFile(path) as packed:
            manifest = _manifest(packed, path)
            held = set(manifest.files)
            if sorted(packed.namelist()) != sorted([_MANIFEST, *held]) or not {FILE_NAME} <= held <= _FILES:
                raise BadBackup(f'The backup "{path}" does not hold what its manifest says; use another')
            for name in manifest.files:
                with packed.open(name) as source, (folder / name).open("wb") as out:
                    shutil.copyfileobj(source, out)
    except FileNotFoundError:
        raise BadBackup(f'No such file: "{path}"; check the name') from None
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise BadBackup(f'"{path}" is no backup of tapeside, or is damaged ({error}); use another') from None
    except OSError as error:
        if error.errno in NO_SPACE:
            raise
        raise BadBackup(f'Cannot read the backup "{path}" ({error.strerror or error})') from None
    for name, told in manifest.files.items():
        if _sha256(folder / name) != told:
            raise BadBackup(f'The backup "{path}" is damaged: "{name}" is not what was put in; use another')
    if manifest.form > latest_form():
        raise BadBackup(
            f'The backup "{path}" was made by a newer tapeside (form {manifest.form}, this one knows {latest_form()}); '
            "install that version"
        )
    _check_database(folder / FILE_NAME, manifest, path)
    return manifest


def is_sound(database: Path) -> bool:
    """Whether SQLite can read the whole of a database and finds nothing wrong in it."""
    try:
        with closing(_connect(database)) as connection:
            return bool(connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    except sqlite3.DatabaseError as error:
        if is_damage(error):
            return False
        raise


@contextmanager
def work_folder(folder: Path) -> Iterator[Path]:
    """An empty folder for its owner only, gone afterwards; what a killed run left in it is thrown away first."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(mode=0o700)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _told_in_a_sentence(target: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        raise BadBackup(
            f'Cannot write the backup "{target}" ({error}); free some space or choose another place'
        ) from None
    except FileNotFoundError:
        raise BadBackup(f'There is no folder "{target.parent}"; make it, or put the backup elsewhere') from None
    except OSError as error:
        raise BadBackup(
            f'Cannot write the backup "{target}" ({error.strerror}); free some space or choose another place'
        ) from None


def _copy(home: Path, copy: Path) -> tuple[dict[str, int], int]:
    """Copy a database in use; the rows of each table and the form, counted in the original at the same moment."""
    database = home / FILE_NAME
    try:
        with closing(_connect(database)) as source, closing(sqlite3.connect(copy)) as target:
            owner_files.unpack(source, home)
            source.execute("BEGIN")
            rows, form = _rows(source), _form(source)
            source.backup(target)
            target.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.DatabaseError as error:
        if is_damage(error):
            raise unusable(database, error) from None
        raise
    return rows, form


def _connect(database: Path) -> sqlite3.Connection:
    """A connection that never makes a new database."""
    return sqlite3.connect(f"{database.resolve().as_uri()}?mode=rw", uri=True, isolation_level=None, timeout=30)


def _rows(connection: sqlite3.Connection) -> dict[str, int]:
    names = [
        row[0]
        for row in connection.execute(
            "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite\\_%'"
            " ESCAPE '\\' ORDER BY name"
        )
    ]
    return {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}


def _form(connection: sqlite3.Connection) -> int:
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _pack(packed: Path, folder: Path, manifest: Manifest) -> None:
    with os.fdopen(os.open(packed, os.O_CREAT | os.O_EXCL | os.O_RDWR, 0o600), "w+b") as out:
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(_MANIFEST, manifest.model_dump_json(by_alias=True, indent=1))
            for name in manifest.files:
                archive.write(folder / name, name)
        out.flush()
        os.fsync(out.fileno())


def _manifest(packed: zipfile.ZipFile, path: Path) -> Manifest:
    foreign = BadBackup(f'"{path}" is no backup of tapeside: it lacks a {_MANIFEST} that this version can read')
    try:
        if packed.getinfo(_MANIFEST).file_size > _LARGEST_MANIFEST:
            raise foreign
        return Manifest.model_validate(json.loads(packed.read(_MANIFEST)))
    except (KeyError, ValueError, ValidationError):
        raise foreign from None


def _check_database(database: Path, manifest: Manifest, path: Path) -> None:
    if not is_sound(database):
        raise BadBackup(f'The database in the backup "{path}" is damaged; use another')
    with closing(_connect(database)) as connection:
        if _form(connection) != manifest.form or _rows(connection) != manifest.rows:
            raise BadBackup(f'The database in the backup "{path}" does not hold what its manifest says; use another')


def _sha256(path: Path) -> str:
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()
