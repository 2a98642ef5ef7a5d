"""What may hold somebody's name or words outside the database: files of the home, and the cache of heard sound."""

import re
import shutil
from collections.abc import Iterable
from pathlib import Path

from notes.archive import copies
from notes.archive.redaction import is_on, is_theirs_alone
from notes.archive.restore import RESTORING
from notes.archive.somebody import Somebody
from notes.archive.unfinished import take_name_out, unfinished
from notes.settings import CLUB_FILES, FILE_NAME, MODEL_PREFIX, OWNER_FILES, cache_folder

# Copies of footage that the desk makes for browsers, by the recording's SHA-256.
PROXIES = "proxies"


def made_of(home: Path, sha256: str, *paths: str | None) -> list[Path]:
    """What the home itself holds of a recording: sound and footage that came to it at the desk, and copies of it."""
    inside = [Path(path) for path in paths if path and Path(path).is_relative_to(home.resolve())]
    return [path for path in dict.fromkeys([*inside, home / PROXIES / f"{sha256}.mp4"]) if path.exists()]


def to_remove(home: Path, who: Somebody, made: Iterable[Path], renamed: Iterable[Path]) -> list[Path]:
    """Files and folders that go: copies that the home keeps of the log, what was learned from corrections, clips and
    papers with the person's name, what was `made` of their recordings, unfinished narrations of theirs alone, and all
    that is cached of recordings, of which nobody can tell who speaks in them.

    Not those that are `renamed`, nor anything of others' unfinished narrations.
    """
    narrations = unfinished(home)
    theirs = [path for n in narrations if is_theirs_alone(n.sheet, who.folded) for path in n.files]
    others = {path for n in narrations if not is_theirs_alone(n.sheet, who.folded) for path in n.files}
    named = [
        path
        for path in _others(home)
        if who.pattern.search(str(path.relative_to(home)))
        and path not in renamed
        and others.isdisjoint((path, *path.parents))
    ]
    restoring = [path for path in (home / RESTORING,) if path.exists()]
    cache = cache_folder()
    cached = [path for path in cache.iterdir() if not path.name.startswith(MODEL_PREFIX)] if cache.is_dir() else []
    learned = learned_from_corrections(home)
    return list(dict.fromkeys([*copies.own_copies(home), *learned, *restoring, *named, *made, *theirs, *cached]))


def learned_from_corrections(home: Path) -> list[Path]:
    """What the second reader has learned: numbers that follow from everybody's notes, and cannot be told apart."""
    return [path for path in (home / name for name in CLUB_FILES) if path.is_file()]


def remove(home: Path, who: Somebody, made: Iterable[Path] = (), renamed: Iterable[Path] = ()) -> None:
    """Remove them, and take the name out of what stays for others."""
    for path in to_remove(home, who, made, renamed):
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
    for path in renamed:
        take_name_out(path, who.pattern)
    for narration in unfinished(home):
        narration.redact(who.folded, who.pattern)
    copies.forget_names(home, who.pattern)


def shared_narrations(home: Path, who: Somebody) -> list[Path]:
    """Unfinished narrations that stay for others, without them."""
    naming = [narration for narration in unfinished(home) if is_on(narration.sheet, who.folded)]
    return [narration.folder for narration in naming if not is_theirs_alone(narration.sheet, who.folded)]


def still_named(home: Path, names: re.Pattern[str]) -> list[str]:
    """Places in files of the home that nobody but the owner may change and that hold a name: `file:line`."""
    files = [*(home / name for name in OWNER_FILES if (home / name).is_file()), *_others(home)]
    return [
        f"{path}:{number}"
        for path in files
        if not names.search(str(path.relative_to(home))) and _is_text(path)
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1)
        if names.search(line)
    ]


def _is_text(path: Path) -> bool:
    with path.open("rb") as source:
        return b"\0" not in source.read(8_192)


def _others(home: Path) -> list[Path]:
    """Files of the home that are neither the log nor the owner's nor copies."""
    ours = (FILE_NAME, *CLUB_FILES, copies.FOLDER, RESTORING)
    return [
        path
        for path in sorted(home.rglob("*"))
        if path.is_file() and path.name not in OWNER_FILES and not path.relative_to(home).parts[0].startswith(ours)
    ]
