"""What is kept of a recording: its sheet, its day, what was heard."""

import json
import sqlite3
from dataclasses import dataclass
from datetime import date
from typing import Any

from notes.sheet import Sheet, parse_sheet


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording of the log. `heard` is its transcript as JSON data, schema tapeside-transcript/1."""

    sha256: str
    name: str
    day: date
    sheet: Sheet
    footage: str | None
    heard: dict[str, Any]
    timed: bool

    @classmethod
    def of(cls, row: sqlite3.Row) -> "Recording":
        """A recording from its row."""
        heard = json.loads(row["transcript"])
        timed = bool(heard.pop("timed"))
        sheet = parse_sheet(row["sheet"], f"{row['name']} (sheet in the log)")
        return cls(row["sha256"], row["name"], date.fromisoformat(row["day"]), sheet, row["footage"], heard, timed)
