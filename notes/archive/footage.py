"""Which recordings of an athlete speak of one footage, as when a live narration is followed by a memo.

Two recordings are of one footage if

- both have footage, and its fingerprint is the same, or its path and day are where a fingerprint is unknown; or
- one has none, and their sheets name the same day, opponent and rounds, all three. Where two footages fit a recording
  without footage, it is taken for neither.

Nothing else is taken for the same, so a footage may be counted twice rather than two for one.
"""

import hashlib
import os
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from notes.archive.people import KnownPerson

_END_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class Footage:
    """What recordings have in common that speak of one footage: a key, and the earliest of their days."""

    key: str
    day: date


@dataclass(frozen=True, slots=True)
class Review:
    """What a kept recording tells of its footage. `session`: day, opponent and rounds, where the sheet has them all."""

    recording_sha256: str
    day: date
    path: str | None = None
    fingerprint: str | None = None
    session: tuple[str, ...] | None = None


def fingerprint(footage: Path) -> str | None:
    """What tells a file from others, wherever it lies: SHA-256 of its length, first and last MiB. None: unreadable."""
    try:
        with footage.open("rb") as source:
            length = source.seek(0, os.SEEK_END)
            digest = hashlib.sha256(f"{length}\n".encode())
            for start in (0, max(0, length - _END_BYTES)):
                source.seek(start)
                digest.update(source.read(_END_BYTES))
            return digest.hexdigest()
    except OSError:
        return None


def footages(reviews: Iterable[Review]) -> dict[str, Footage]:
    """The footage of each recording, by the recording's SHA-256."""
    reviews = list(reviews)
    known = {(r.path, r.day): r.fingerprint for r in reviews if r.fingerprint}
    keys: dict[str, str] = {}
    in_session: dict[tuple[str, ...], set[str]] = {}
    for r in reviews:
        if r.path or r.fingerprint:
            keys[r.recording_sha256] = r.fingerprint or known.get((r.path, r.day)) or f"{r.day} {r.path}"
            if r.session:
                in_session.setdefault(r.session, set()).add(keys[r.recording_sha256])
    for r in reviews:
        if r.recording_sha256 not in keys:
            own = " ".join(r.session) if r.session else r.recording_sha256
            fitting = in_session.get(r.session, set()) if r.session else set()
            keys[r.recording_sha256] = next(iter(fitting)) if len(fitting) == 1 else own
    first: dict[str, date] = {}
    for r in reviews:
        key = keys[r.recording_sha256]
        first[key] = min(r.day, first.get(key, r.day))
    return {recording: Footage(key, first[key]) for recording, key in keys.items()}


def footages_of(db: sqlite3.Connection, person: KnownPerson) -> dict[str, Footage]:
    """The footage of each recording that an athlete was in."""
    rows = db.execute(
        "SELECT sha256, day, footage, footage_print, json_extract(sheet, '$.opponent.name') AS opponent,"
        " json_extract(sheet, '$.rounds') AS rounds FROM recording WHERE sha256 IN ("
        "  SELECT a.recording FROM attendance a JOIN person p ON p.id = a.person WHERE p.id = ?1 OR p.merged_into = ?1"
        "  UNION SELECT recording FROM entry WHERE person = ?1)",
        (person.id,),
    )
    return footages(map(_review, rows))


def _review(row: sqlite3.Row) -> Review:
    told = row["opponent"] and row["rounds"]
    session = (row["day"], row["opponent"].casefold(), row["rounds"]) if told else None
    return Review(row["sha256"], date.fromisoformat(row["day"]), row["footage"], row["footage_print"], session)
