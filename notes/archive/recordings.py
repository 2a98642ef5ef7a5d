"""What is kept of a recording: its name, day, sheet, and where it and its footage lay."""

import sqlite3
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from notes.sheet import Sheet, parse_sheet


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording of the log. `footage` and `path` are where footage and recording lay when it was added."""

    sha256: str
    name: str
    day: date
    sheet: Sheet
    footage: Path | None
    path: Path | None

    @classmethod
    def of(cls, row: sqlite3.Row) -> "Recording":
        """A recording from its row."""
        footage, path = (Path(row[name]) if row[name] else None for name in ("footage", "path"))
        return cls(row["sha256"], row["name"], date.fromisoformat(row["day"]), kept_sheet(row), footage, path)


def kept_sheet(row: sqlite3.Row) -> Sheet:
    """The sheet in a recording's row."""
    return parse_sheet(row["sheet"], f"{row['name']} (sheet in the log)")
