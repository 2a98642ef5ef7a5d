"""Where copies of the log lie: those that the home keeps in its `backups` folder, and those that the owner made."""

import re
from datetime import datetime
from pathlib import Path

FOLDER = "backups"
_MADE = "made.txt"


def new_copy(home: Path, what: str, ending: str = "") -> Path:
    """A name in the home's backups folder that is not taken, such as `before-restore-20310314-101500.zip`."""
    folder = home / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    stem = f"{what}-{datetime.now():%Y%m%d-%H%M%S}"
    names = (folder / f"{stem}{f'-{i}' if i else ''}{ending}" for i in range(10_000))
    return next(path for path in names if not path.exists())


def remember_copy(home: Path, path: Path) -> None:
    """Note where the owner put a backup, so that it can be offered, and named by `forget`, later."""
    folder = home / FOLDER
    folder.mkdir(mode=0o700, exist_ok=True)
    with (folder / _MADE).open("a", encoding="utf-8") as made:
        made.write(f"{path.resolve()}\n")


def owners_copies(home: Path) -> list[Path]:
    """The backups that the owner made and that are still where they were put."""
    return [path for path in map(Path, dict.fromkeys(_lines(home))) if path.is_file()]


def own_copies(home: Path) -> list[Path]:
    """What was put aside in the home itself: before a restore, before an upgrade, or damaged."""
    folder = home / FOLDER
    return sorted(path for path in folder.iterdir() if path.name != _MADE) if folder.is_dir() else []


def forget_names(home: Path, names: re.Pattern[str]) -> None:
    """No longer note backups in whose paths a name stands."""
    lines = _lines(home)
    if left := [line for line in lines if not names.search(line)]:
        (home / FOLDER / _MADE).write_text("".join(f"{line}\n" for line in left), encoding="utf-8")
    elif lines:
        (home / FOLDER / _MADE).unlink()


def newest_backup(home: Path) -> Path | None:
    """The newest backup that can be found and restored."""
    found = [*owners_copies(home), *(path for path in own_copies(home) if path.suffix == ".zip")]
    return max(found, key=lambda path: path.stat().st_mtime, default=None)


def _lines(home: Path) -> list[str]:
    made = home / FOLDER / _MADE
    return made.read_text(encoding="utf-8").splitlines() if made.is_file() else []
