"""What a recording was spoken over: its footage, its rounds, and its words as they were kept."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from notes.archive.archive import Archive
from notes.model import Segment
from notes.sheet import Sheet
from notes.times import Rounds, to_ms


@dataclass(frozen=True, slots=True)
class Media:
    """A kept recording and the footage it speaks of.

    `footage` and `path` are where it and the recording lay at the time of adding; `live` tells whether talk and footage
    ran side by side, by one clock.
    """

    recording: str
    sha256: str
    footage: Path | None
    path: Path | None
    live: bool
    rounds: Rounds | None
    segments: tuple[Segment, ...]


def media_of(archive: Archive, recordings: Iterable[str]) -> dict[str, Media]:
    """The media of kept recordings, by SHA-256."""
    found = {}
    for sha256 in dict.fromkeys(recordings):
        row = archive.db.execute("SELECT * FROM recording WHERE sha256 = ?", (sha256,)).fetchone()
        sheet = Sheet.model_validate(json.loads(row["sheet"]))
        transcript = json.loads(row["transcript"])
        found[sha256] = Media(
            recording=row["name"],
            sha256=sha256,
            footage=Path(row["footage"]) if row["footage"] else None,
            path=Path(row["path"]) if row["path"] else None,
            live=sheet.narration == "live" and transcript["timed"] and not transcript.get("playback"),
            rounds=sheet.round_clock,
            segments=tuple(Segment(to_ms(s["start"]), to_ms(s["end"]), s["text"]) for s in transcript["segments"]),
        )
    return found
