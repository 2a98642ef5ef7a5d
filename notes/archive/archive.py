"""The archive's face: keep a reading, find a person, list what was said of them.

What people decide about it is in `correcting`, merged names are in `people`.
"""

import json
import sqlite3
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Any

from notes import __version__
from notes.archive import people
from notes.archive.database import open_database, transaction
from notes.archive.entries import Kept, fetch, newest_reading, of_athlete, rebuild, rebuild_all
from notes.archive.footage import fingerprint, footages_of
from notes.archive.people import KnownPerson, keep_person
from notes.archive.recordings import Recording
from notes.archive.rows import insert, to_row
from notes.archive.trouble import unusable
from notes.model import Observation, Reading
from notes.settings import FILE_NAME
from notes.sheet import Sheet

__all__ = ["Archive", "Kept", "KnownPerson"]

# What `Recording.of` reads; transcripts are long and are asked for by themselves.
_OF_RECORDING = "sha256, name, day, sheet, footage, path"


class Archive:
    """The log of one home. Use as a context manager."""

    def __init__(self, home: Path):
        self.path = home / FILE_NAME
        self.db = open_database(home)

    def __enter__(self) -> "Archive":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        self.db.close()
        if isinstance(error, sqlite3.Error):
            raise unusable(self.path, error) from None

    def recording_name(self, sha256: str) -> str | None:
        """The name under which a recording is kept already."""
        row = self.db.execute("SELECT name FROM recording WHERE sha256 = ?", (sha256,)).fetchone()
        return row["name"] if row else None

    def add(
        self,
        reading: Reading,
        sheet: Sheet,
        day: date,
        footage: Path | None,
        transcript: dict[str, Any],
        path: Path | None = None,
    ) -> None:
        """Keep a reading and its recording, with where it lies (`path`): wholly, or not at all."""
        with transaction(self.db):
            attending = {keep_person(self.db, athlete) for athlete in sheet.athletes}
            kept_transcript = transcript | {"timed": reading.transcript.timed}
            recording = {
                "sha256": reading.recording_sha256,
                "name": reading.recording,
                "day": day.isoformat(),
                "sheet": json.dumps(sheet.as_json(), ensure_ascii=False),
                "footage": str(footage) if footage else None,
                "transcript": json.dumps(kept_transcript, ensure_ascii=False),
                "added_at": people.now(),
                "path": str(path) if path else None,
                "footage_print": fingerprint(footage) if footage else None,
            }
            insert(self.db, "recording", recording)
            self.db.executemany(
                "INSERT INTO attendance VALUES (?, ?)", [(reading.recording_sha256, p) for p in attending]
            )
            self._keep(reading)
            rebuild(self.db, reading.recording_sha256)

    def add_readings(self, readings: Iterable[Reading], words: Mapping[str, dict[str, Any]] | None = None) -> None:
        """Keep new readings of recordings that are in the log: all of them, or none. Verdicts stay.

        words: transcripts that changed, as JSON data, by the recording's SHA-256.
        """
        with transaction(self.db):
            for reading in readings:
                if words and reading.recording_sha256 in words:
                    self._change_words(reading, words[reading.recording_sha256])
                self._keep(reading)
                rebuild(self.db, reading.recording_sha256)

    def rebuild(self) -> None:
        """Make all entries anew from readings and verdicts."""
        with transaction(self.db):
            rebuild_all(self.db)

    def recordings(self) -> list[Recording]:
        """Everything that was added, oldest first."""
        rows = self.db.execute(f"SELECT {_OF_RECORDING} FROM recording ORDER BY day, added_at, rowid")
        return [Recording.of(row) for row in rows]

    def heard(self, sha256: str) -> tuple[dict[str, Any], bool]:
        """What was heard in a recording, as JSON data of schema tapeside-transcript/1, and whether it has times."""
        row = self.db.execute("SELECT transcript FROM recording WHERE sha256 = ?", (sha256,)).fetchone()
        data: dict[str, Any] = json.loads(row["transcript"])
        return data, bool(data.pop("timed"))

    def recording(self, sha256: str) -> Recording | None:
        """One of them."""
        row = self.db.execute(f"SELECT {_OF_RECORDING} FROM recording WHERE sha256 = ?", (sha256,)).fetchone()
        return Recording.of(row) if row else None

    def last_sheet(self) -> Sheet | None:
        """The sheet of the recording that was added last."""
        row = self.db.execute(
            f"SELECT {_OF_RECORDING} FROM recording ORDER BY added_at DESC, rowid DESC LIMIT 1"
        ).fetchone()
        return Recording.of(row).sheet if row else None

    def revise(self, reading: Reading, sheet: Sheet, transcript: dict[str, Any]) -> None:
        """Keep changed words or a changed sheet of a recording, with the reading that they give. Verdicts stay."""
        with transaction(self.db):
            self.db.execute(
                "UPDATE recording SET sheet = ? WHERE sha256 = ?",
                (json.dumps(sheet.as_json(), ensure_ascii=False), reading.recording_sha256),
            )
            self._change_words(reading, transcript)
            self._keep(reading)
            rebuild(self.db, reading.recording_sha256)

    def athlete(self, name: str) -> KnownPerson:
        """The athlete of that name or alias. Raises UnknownAthlete with the nearest known name."""
        return people.athlete(self.db, name)

    def athletes(self) -> list[KnownPerson]:
        """All athletes of the log, by name."""
        return people.athletes(self.db)

    def observations_of(self, person: KnownPerson) -> list[Kept]:
        """Everything in an athlete's log, oldest first."""
        return fetch(self.db, *of_athlete(person), footages_of(self.db, person))

    def observations(self, ids: Iterable[str]) -> dict[str, Kept]:
        """Entries by id, struck ones too."""
        wanted = json.dumps(list(ids))
        found = fetch(self.db, "e.id IN (SELECT value FROM json_each(?))", (wanted,))
        return {kept.observation.id: kept for kept in found}

    def entries(self, numbers: Iterable[int]) -> list[Kept]:
        """Entries by their numbers, in that order."""
        return [kept for number in numbers for kept in fetch(self.db, "e.number = ?", (number,))]

    def observations_in(self, recording_sha256: str) -> list[Kept]:
        """All entries of a recording in spoken order: struck ones, and those of opponent and coach too."""
        return fetch(self.db, "e.recording = ?", (recording_sha256,))

    def perhaps_in(self, recording_sha256: str) -> list[Observation]:
        """What the newest reading found too unsure to be logged and nobody has spoken about, in spoken order."""
        rows = self.db.execute("SELECT observation FROM entry WHERE recording = ?", (recording_sha256,))
        taken = {name for (name,) in rows}
        return [o for o in newest_reading(self.db, recording_sha256)[1] if o.id not in taken]

    def days_of(self, person: KnownPerson) -> list[date]:
        """The days on which an athlete was reviewed, oldest first."""
        rows = self.db.execute(
            "SELECT r.day FROM attendance a JOIN recording r ON r.sha256 = a.recording"
            " WHERE a.person IN (SELECT id FROM person WHERE id = ?1 OR merged_into = ?1)"
            " UNION SELECT day FROM entry WHERE person = ?1 AND verdict IS NOT 'struck' ORDER BY 1",
            (person.id,),
        )
        return [date.fromisoformat(row[0]) for row in rows]

    def _change_words(self, reading: Reading, transcript: dict[str, Any]) -> None:
        kept = json.dumps(transcript | {"timed": reading.transcript.timed}, ensure_ascii=False)
        self.db.execute("UPDATE recording SET transcript = ? WHERE sha256 = ?", (kept, reading.recording_sha256))

    def _keep(self, reading: Reading) -> None:
        made = {
            "recording": reading.recording_sha256,
            "lexicon_sha256": reading.lexicon_sha256,
            "second_sha256": reading.second_sha256,
            "speech_model": reading.transcript.model,
            "program_version": __version__,
            "made_at": people.now(),
        }
        number = insert(self.db, "reading", made)
        for part, perhaps in ((reading.observations, False), (reading.perhaps, True)):
            for o in part:
                insert(self.db, "observation", {"reading": number, "perhaps": perhaps} | to_row(o))
