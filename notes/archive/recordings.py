"""What is kept of a recording: its name, day, sheet and footage."""

import sqlite3
from dataclasses import dataclass
from datetime import date

from notes.sheet import Sheet, parse_sheet


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording of the log."""

    sha256: str
    name: str
    day: date
    sheet: Sheet
    footage: str | None

    @classmethod
    def of(cls, row: sqlite3.Row) -> "Recording":
        """A recording from its row."""
        return cls(row["sha256"], row["name"], date.fromisoformat(row["day"]), kept_sheet(row), row["footage"])


def kept_sheet(row: sqlite3.Row) -> Sheet:
    """The sheet in a recording's row."""
    return parse_sheet(row["sheet"], f"{row['name']} (sheet in the log)")
