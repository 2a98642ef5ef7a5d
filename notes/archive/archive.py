"""The archive's own questions: keep a reading, find a person, list what was said of them."""

import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from rapidfuzz import fuzz, process

from lexicon import Lexicon
from notes import __version__
from notes.archive.database import FILE_NAME, open_database, transaction, unusable
from notes.errors import UnknownAthlete
from notes.model import Observation, Reading
from notes.sheet import Athlete, Sheet

TERM_SORTS = ("technique", "fault", "fix")


@dataclass(frozen=True, slots=True)
class Kept:
    """An observation in the log, with its recording."""

    observation: Observation
    recording: str
    recording_sha256: str
    day: date
    timed: bool


@dataclass(frozen=True, slots=True)
class KnownPerson:
    """An athlete of the log."""

    id: int
    name: str
    stance: str | None
    junior: bool


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

    def footage_of(self, sha256: str) -> Path | None:
        """Where the footage of a recording lay when it was added."""
        row = self.db.execute("SELECT footage FROM recording WHERE sha256 = ?", (sha256,)).fetchone()
        return Path(row["footage"]) if row and row["footage"] else None

    def add(
        self,
        reading: Reading,
        sheet: Sheet,
        day: date,
        footage: Path | None,
        transcript: dict[str, Any],
        lexicon: Lexicon,
    ) -> None:
        """Keep a reading and its recording: wholly, or not at all."""
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with transaction(self.db):
            people = {athlete.name: self._person(athlete) for athlete in sheet.athletes}
            kept_transcript = json.dumps(transcript | {"timed": reading.transcript.timed}, ensure_ascii=False)
            self.db.execute(
                "INSERT INTO recording VALUES (?, ?, ?, ?, ?, ?, ?)",
                (
                    reading.recording_sha256,
                    reading.recording,
                    day.isoformat(),
                    json.dumps(sheet.as_json(), ensure_ascii=False),
                    str(footage) if footage else None,
                    kept_transcript,
                    now,
                ),
            )
            self.db.executemany(
                "INSERT INTO attendance VALUES (?, ?)", [(reading.recording_sha256, p) for p in people.values()]
            )
            cursor = self.db.execute(
                "INSERT INTO reading (recording, lexicon_sha256, program_version, made_at) VALUES (?, ?, ?, ?)",
                (reading.recording_sha256, reading.lexicon_sha256, __version__, now),
            )
            for o in reading.observations:
                person = people[o.athlete] if o.role == "athlete" else None
                named = replace(o, athlete=self._name(person)) if person else o
                self._keep(named, cursor.lastrowid, person, timed=reading.transcript.timed, lexicon=lexicon)

    def athlete(self, name: str) -> KnownPerson:
        """The athlete of that name or alias. Raises UnknownAthlete with the nearest known name."""
        row = self.db.execute(
            "SELECT p.* FROM person p LEFT JOIN alias a ON a.person = p.id WHERE p.name = ? OR a.name = ? LIMIT 1",
            (name, name),
        ).fetchone()
        if row:
            return KnownPerson(row["id"], row["name"], row["stance"], bool(row["junior"]))
        known = [r[0] for r in self.db.execute("SELECT name FROM person UNION SELECT name FROM alias ORDER BY 1")]
        near = process.extractOne(name.lower(), known, scorer=fuzz.ratio, processor=str.lower, score_cutoff=50)
        if near:
            raise UnknownAthlete(f'No athlete called "{name}" in the log; did you mean "{near[0]}"?')
        raise UnknownAthlete(f'No athlete called "{name}" in the log; add a recording of them first')

    def athletes(self) -> list[KnownPerson]:
        """All athletes of the log, by name."""
        rows = self.db.execute("SELECT * FROM person ORDER BY name")
        return [KnownPerson(row["id"], row["name"], row["stance"], bool(row["junior"])) for row in rows]

    def observations_of(self, person: KnownPerson) -> list[Kept]:
        """Everything logged for an athlete, oldest first."""
        return self._fetch("o.person = ?", (person.id,))

    def observations(self, ids: Iterable[str]) -> dict[str, Kept]:
        """Observations by id."""
        wanted = list(ids)
        marks = ",".join("?" * len(wanted))
        return {k.observation.id: k for k in self._fetch(f"o.id IN ({marks})", tuple(wanted))}

    def days_of(self, person: KnownPerson) -> list[date]:
        """The days on which an athlete was reviewed, oldest first."""
        rows = self.db.execute(
            "SELECT DISTINCT r.day FROM attendance a JOIN recording r ON r.sha256 = a.recording"
            " WHERE a.person = ? ORDER BY 1",
            (person.id,),
        )
        return [date.fromisoformat(row[0]) for row in rows]

    def _name(self, person: int) -> str:
        return str(self.db.execute("SELECT name FROM person WHERE id = ?", (person,)).fetchone()[0])

    def _person(self, athlete: Athlete) -> int:
        row = None
        for name in athlete.names:
            row = (
                row
                or self.db.execute(
                    "SELECT p.id FROM person p LEFT JOIN alias a ON a.person = p.id WHERE p.name = ? OR a.name = ?",
                    (name, name),
                ).fetchone()
            )
        if row:
            person = int(row["id"])
            self.db.execute(
                "UPDATE person SET stance = coalesce(?, stance), junior = max(junior, ?) WHERE id = ?",
                (athlete.stance, athlete.junior, person),
            )
        else:
            cursor = self.db.execute(
                "INSERT INTO person (name, stance, junior) VALUES (?, ?, ?)",
                (athlete.name, athlete.stance, athlete.junior),
            )
            person = int(cursor.lastrowid or 0)
        self.db.executemany("INSERT OR IGNORE INTO alias VALUES (?, ?)", [(alias, person) for alias in athlete.aliases])
        return person

    def _keep(self, o: Observation, reading: int | None, person: int | None, *, timed: bool, lexicon: Lexicon) -> None:
        self.db.execute(
            "INSERT INTO observation VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                o.id, reading, person, o.athlete, o.role, o.kind, o.why, o.unlisted,
                o.start_ms if timed else None, o.end_ms if timed else None,
                o.footage_ms, o.round, o.again, o.quote, o.confidence,
            ),
        )  # fmt: skip
        terms = {"technique": o.techniques, "fault": o.faults, "fix": o.fixes}
        self.db.executemany(
            "INSERT INTO term VALUES (?, ?, ?, ?)",
            [(o.id, sort, place, term) for sort, ids in terms.items() for place, term in enumerate(ids)],
        )
        known = (lexicon.entries.get(term) for ids in terms.values() for term in ids)
        meaning = ". ".join(f"{entry.label}, {entry.means}" for entry in known if entry)
        self.db.execute("INSERT INTO observation_search VALUES (?, ?, ?)", (o.quote, meaning, o.id))

    def _fetch(self, where: str, values: tuple[Any, ...]) -> list[Kept]:
        rows = self.db.execute(
            "SELECT o.*, c.name AS recording, c.sha256 AS sha256, c.day AS day"
            " FROM observation o JOIN reading r ON r.id = o.reading JOIN recording c ON c.sha256 = r.recording"
            f" WHERE {where} ORDER BY c.day, c.added_at, o.start_ms, o.rowid",
            values,
        ).fetchall()
        terms: dict[tuple[str, str], list[str]] = defaultdict(list)
        found = self.db.execute(
            f"SELECT t.* FROM term t JOIN observation o ON o.id = t.observation WHERE {where} ORDER BY t.place", values
        )
        for term in found:
            terms[term["observation"], term["sort"]].append(term["id"])
        return [_kept(row, {sort: tuple(terms[row["id"], sort]) for sort in TERM_SORTS}) for row in rows]


def _kept(row: sqlite3.Row, terms: dict[str, tuple[str, ...]]) -> Kept:
    observation = Observation(
        athlete=row["athlete"],
        role=row["role"],
        kind=row["kind"],
        techniques=terms["technique"],
        faults=terms["fault"],
        fixes=terms["fix"],
        why=row["why"],
        unlisted=row["unlisted"],
        start_ms=row["start_ms"] or 0,
        end_ms=row["end_ms"] or 0,
        footage_ms=row["footage_ms"],
        round=row["round"],
        again=bool(row["again"]),
        quote=row["quote"],
        confidence=row["confidence"],
        id=row["id"],
    )
    return Kept(
        observation, row["recording"], row["sha256"], date.fromisoformat(row["day"]), row["start_ms"] is not None
    )
