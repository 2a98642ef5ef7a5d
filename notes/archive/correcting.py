"""A person's word on what was read: given, taken back, looked back at. All is kept, nothing is overwritten."""

import json
import secrets
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.changes import Changes, check_ids
from notes.archive.database import transaction
from notes.archive.entries import Kept, fetch, is_timed, rebuild, threads
from notes.archive.people import athlete, login_name, now
from notes.archive.recordings import kept_sheet
from notes.archive.rows import COLUMNS, insert, to_row
from notes.archive.verdicts import State, Thread, Verdict, consistent
from notes.errors import BadCorrection
from notes.model import Observation
from notes.sheet import Sheet


@dataclass(frozen=True, slots=True)
class _Remark:
    """What an id stands for: an entry, an observation that is only offered, or something that a person once spoke
    about. `seen` holds its columns as they were read in `reading`."""

    id: str
    recording: str
    reading: int | None
    seen: dict[str, Any]
    thread: Thread | None


def correct(
    archive: Archive,
    lexicon: Lexicon,
    ids: Iterable[str],
    state: State,
    changes: Changes | None = None,
    *,
    by: str | None = None,
    why: str | None = None,
) -> list[Kept]:
    """Keep, amend or strike remarks, all or none; the entries as they stand then.

    ids: whole, or so much of them as is unique. changes: new values by field of Observation (`read_changes`), for
    amended alone; they are added to what was amended before. by: default the sheet's coach, else the login name.
    Raises BadCorrection for an id, person or term that is not there.
    """
    if (state == "amended") != bool(changes):
        raise BadCorrection(
            '"amended" needs what to change, such as fault=head-on-centreline; kept and struck need none'
        )
    check_ids(changes or {}, lexicon)
    with transaction(archive.db):
        remarks = [_find(archive.db, i) for i in dict.fromkeys(ids)]
        for remark in remarks:
            sheet = _sheet(archive.db, remark.recording)
            standing = remark.thread.standing if remark.thread else None
            before = dict(standing.changes) if standing else {}
            new = before | _with_role(archive.db, sheet, changes or {}) if state != "kept" else {}
            if standing and why is None and (standing.state, before) == (state, new):
                continue
            added = bool(remark.thread and remark.thread.anchor.added)
            _append(archive.db, remark, state, new, by or _speaker(sheet), why, added=added)
        return _finish(archive.db, remarks)


def add_note(
    archive: Archive,
    lexicon: Lexicon,
    recording_sha256: str,
    note: Observation,
    *,
    by: str | None = None,
    why: str | None = None,
) -> Kept:
    """Keep a person's own note on words that the machine passed over; it shows as amended.

    note: times in ms; its id and confidence are given here. If a reading comes to hold the same remark, that is this
    note. Raises BadCorrection for a recording, person or term that is not there.
    """
    with transaction(archive.db):
        sheet = _sheet(archive.db, recording_sha256)
        values = {"techniques": note.techniques, "faults": note.faults, "fixes": note.fixes}
        check_ids(values, lexicon)
        who = _with_role(archive.db, sheet, {"athlete": note.athlete})
        own = consistent(replace(note, **who, id=secrets.token_hex(6), confidence=1.0))
        seen = to_row(own)
        remark = _Remark(own.id, recording_sha256, None, seen, None)
        _append(archive.db, remark, "amended", {}, by or _speaker(sheet), why, added=True)
        return _finish(archive.db, [remark])[0]


def undo(archive: Archive, ids: Iterable[str], *, by: str | None = None, why: str | None = None) -> list[Kept]:
    """Take back the newest word on each remark, all or none; the one before it stands again. The entries that are left.

    Raises BadCorrection where there is nothing to undo.
    """
    with transaction(archive.db):
        remarks = [_find(archive.db, i) for i in dict.fromkeys(ids)]
        for remark in remarks:
            if not (remark.thread and remark.thread.standing):
                raise BadCorrection(f'"{remark.id}" stands as it was read; there is nothing to undo')
            speaker = by or _speaker(_sheet(archive.db, remark.recording))
            _append(archive.db, remark, "undone", {}, speaker, why, added=remark.thread.anchor.added)
        return _finish(archive.db, remarks)


def history(archive: Archive, remark_id: str) -> tuple[Verdict, ...]:
    """All verdicts on a remark, undone ones too, oldest first. Raises BadCorrection for an id that is not there."""
    remark = _find(archive.db, remark_id)
    return remark.thread.verdicts if remark.thread else ()


def _find(db: sqlite3.Connection, typed: str) -> _Remark:
    """What an id, or the start of one, stands for."""
    if not typed.strip():
        raise BadCorrection("An observation's id is missing; search and log --json show them")
    low, high = typed, typed + "\U0010ffff"
    found = db.execute(
        "SELECT recording, id FROM entry WHERE id >= ?1 AND id < ?2"
        " UNION SELECT r.recording, o.id FROM observation o JOIN reading r ON r.id = o.reading"
        "   WHERE o.perhaps AND o.id >= ?1 AND o.id < ?2"
        "   AND NOT EXISTS (SELECT 1 FROM reading WHERE recording = r.recording AND id > r.id)"
        " UNION SELECT recording, json_extract(seen, '$.id') FROM verdict"
        "   WHERE json_extract(seen, '$.id') >= ?1 AND json_extract(seen, '$.id') < ?2",
        (low, high),
    ).fetchall()
    exact = [row for row in found if row["id"] == typed] or found
    if not exact:
        raise BadCorrection(f'No observation "{typed}" in the log; search and log --json show the ids')
    if len(exact) > 1:
        ids = ", ".join(row["id"] for row in exact[:4])
        raise BadCorrection(f'"{typed}" may be {ids}{" …" if len(exact) > 4 else ""}; write more of it')
    return _remark(db, exact[0]["recording"], exact[0]["id"])


def _remark(db: sqlite3.Connection, recording: str, name: str) -> _Remark:
    entry = db.execute(
        "SELECT thread, observation FROM entry WHERE recording = ? AND id = ?", (recording, name)
    ).fetchone()
    known = threads(db, recording)
    number = entry["thread"] if entry else None
    thread = next((t for t in known if t.id == number), None) or next(
        (t for t in known if entry is None and name in {v.seen.id for v in t.verdicts}), None
    )
    read = db.execute(
        "SELECT o.* FROM observation o JOIN newest_reading n ON n.id = o.reading WHERE n.recording = ? AND o.id = ?",
        (recording, entry["observation"] if entry else name),
    ).fetchone()
    if read and not (thread and thread.standing):
        return _Remark(name, recording, read["reading"], {column: read[column] for column in COLUMNS}, thread)
    assert thread, "an entry is read, or a person has spoken about it"
    row = db.execute(
        "SELECT reading, seen FROM verdict WHERE id = ?", ((thread.standing or thread.anchor).id,)
    ).fetchone()
    return _Remark(name, recording, row["reading"], json.loads(row["seen"]), thread)


def _append(
    db: sqlite3.Connection, remark: _Remark, state: str, changes: Changes, by: str, why: str | None, *, added: bool
) -> None:
    next_id = db.execute("SELECT coalesce(max(id), 0) + 1 FROM verdict").fetchone()[0]
    timed = is_timed(db, remark.recording)
    verdict = {
        "id": next_id,
        "thread": remark.thread.id if remark.thread else next_id,
        "recording": remark.recording,
        "reading": remark.reading,
        "added": added,
        "state": state,
        "start_ms": remark.seen["start_ms"] if timed else None,
        "end_ms": remark.seen["end_ms"] if timed else None,
        "quote": remark.seen["quote"],
        "seen": json.dumps(remark.seen, ensure_ascii=False),
        "changes": json.dumps(dict(changes), ensure_ascii=False),
        "made_by": by,
        "made_at": now(),
        "why": why,
    }
    insert(db, "verdict", verdict)


def _finish(db: sqlite3.Connection, remarks: Sequence[_Remark]) -> list[Kept]:
    """Make the log of the recordings anew; what stands there for the remarks."""
    for recording in {remark.recording for remark in remarks}:
        rebuild(db, recording)
    stands: list[Kept] = []
    for remark in remarks:
        thread = remark.thread or next(
            t for t in threads(db, remark.recording) if remark.id in {v.seen.id for v in t.verdicts}
        )
        stands += fetch(db, "e.recording = ? AND e.thread = ?", (remark.recording, thread.id))
    return stands


def _with_role(db: sqlite3.Connection, sheet: Sheet, changes: Changes) -> dict[str, Any]:
    """Changes with the part that the person named in them plays: on this recording's sheet, else an athlete."""
    if "athlete" not in changes:
        return dict(changes)
    name = str(changes["athlete"])
    if sheet.opponent and name.casefold() in map(str.casefold, sheet.opponent.names):
        return {**changes, "athlete": sheet.opponent.name, "role": "opponent"}
    if sheet.coach and name.casefold() == sheet.coach.name.casefold():
        return {**changes, "athlete": sheet.coach.name, "role": "coach"}
    return {**changes, "athlete": athlete(db, name).name, "role": "athlete"}


def _sheet(db: sqlite3.Connection, recording: str) -> Sheet:
    row = db.execute("SELECT sheet, name FROM recording WHERE sha256 = ?", (recording,)).fetchone()
    if row is None:
        raise BadCorrection("No such recording in the log")
    return kept_sheet(row)


def _speaker(sheet: Sheet) -> str:
    return sheet.coach.name if sheet.coach else login_name()
