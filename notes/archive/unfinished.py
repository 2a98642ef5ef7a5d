"""Narrations of the home that were begun and not finished, as far as forgetting has to do with them."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from notes.archive.redaction import is_on, sheet_without, without_names
from notes.errors import BadSheet
from notes.settings import NARRATION_SHEET, NARRATIONS, RECORDINGS, VIDEOS
from notes.sheet import Sheet, read_sheet, write_sheet


@dataclass(frozen=True)
class Unfinished:
    """One of them: its folder, and its sheet as JSON."""

    folder: Path
    sheet: dict[str, Any]

    @property
    def files(self) -> list[Path]:
        """All that there is of it: its folder, and what was made of it before its review was kept."""
        home, name = self.folder.parents[1], self.folder.name
        made = [*(home / RECORDINGS).glob(f"*{name}.flac"), *(home / VIDEOS).glob(f"{name}-*")]
        return [self.folder, *sorted(made)]

    def redact(self, names: Collection[str], pattern: re.Pattern[str]) -> None:
        """Take somebody out of its sheet and out of the names of its files; what was spoken stays."""
        if is_on(self.sheet, names) or pattern.search(self.sheet.get("footage") or ""):
            left = Sheet.model_validate(sheet_without(self.sheet, names, pattern))
            write_sheet(left, self.folder / NARRATION_SHEET)
        for path in [*(self.folder / VIDEOS).glob("*"), *self.files[1:]]:
            take_name_out(path, pattern)


def unfinished(home: Path) -> list[Unfinished]:
    """All that have a sheet that can be read."""
    found = []
    for path in sorted((home / NARRATIONS).glob(f"*/{NARRATION_SHEET}")):
        try:
            found.append(Unfinished(path.parent, read_sheet(path).as_json()))
        except BadSheet:
            continue
    return found


def renamed(path: Path, pattern: re.Pattern[str]) -> Path:
    """The path with the names taken out of the file's own."""
    return path.with_name(without_names(path.name, pattern))


def take_name_out(path: Path, pattern: re.Pattern[str]) -> None:
    """Rename a file so. Done already, it changes nothing."""
    if path.exists() and renamed(path, pattern) != path:
        path.replace(renamed(path, pattern))
