"""Forgetting somebody: every row, word and name of them leaves the log; what others share with them stays theirs."""

import json
import re
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from notes.archive import leftovers
from notes.archive.archive import Archive
from notes.archive.database import mark_for_scrubbing, scrub, transaction
from notes.archive.entries import rebuild
from notes.archive.redaction import is_on, is_theirs_alone, redact_transcript, sheet_without, without_names
from notes.archive.somebody import Somebody
from notes.archive.unfinished import renamed

_TEXTS = ("quote", "why", "unlisted")


@dataclass
class Gone:
    """What leaves the log with somebody; recordings and footage by name or path, everything else counted.

    `files` are what the desk made of their recordings and keeps in the home: sound, footage, its copies for browsers.
    `renamed` are such files of recordings that stay for others.
    """

    recordings: list[str] = field(default_factory=list)
    shared: list[str] = field(default_factory=list)
    footage: list[str] = field(default_factory=list)
    files: list[Path] = field(default_factory=list)
    renamed: list[Path] = field(default_factory=list)
    entries: int = 0
    verdicts: int = 0


class _Undo(Exception):
    """Raised to roll a preview back."""


def preview(archive: Archive, who: Somebody) -> Gone:
    """What `forget` would take out of the log. It is taken out and put back, so the two cannot disagree."""
    try:
        with transaction(archive.db):
            gone = _take_out(archive, who)
            raise _Undo
    except _Undo:
        return gone


def forget(archive: Archive, who: Somebody) -> tuple[Gone, bool]:
    """Take a person out of the log, the home's files and the cache.

    Also whether the bytes on disk are overwritten already; False where another process has the log open or the disk is
    full, and then they are when it is opened next. Killed before the log has changed, it can be run again; afterwards
    it is finished when the log is opened next.
    """
    home = archive.path.parent
    going = preview(archive, who)
    mark_for_scrubbing(home)
    leftovers.remove(home, who, going.files, going.renamed)
    with transaction(archive.db):
        gone = _take_out(archive, who)
    return gone, scrub(archive.db, home)


def _take_out(archive: Archive, who: Somebody) -> Gone:
    db, gone = archive.db, Gone()
    taking = _Taking(db, archive.path.parent, who.ids, who.folded, who.pattern, gone)
    for recording in db.execute("SELECT * FROM recording ORDER BY day, added_at, rowid").fetchall():
        if taking.take_out_of(recording):
            rebuild(db, recording["sha256"])
    for row in db.execute("SELECT id, made_by, why FROM merging").fetchall():
        values = (_text(row["made_by"], taking.pattern), _text(row["why"], taking.pattern), row["id"])
        db.execute("UPDATE merging SET made_by = ?, why = ? WHERE id = ?", values)
    db.executemany("DELETE FROM person WHERE id = ?", [(one,) for one in sorted(who.ids)])
    db.execute("INSERT INTO entry_search (entry_search) VALUES ('rebuild')")
    return gone


@dataclass(frozen=True)
class _Taking:
    """One person being taken out of recording after recording. `names` are casefolded, as a sheet may have them."""

    db: sqlite3.Connection
    home: Path
    ids: frozenset[int]
    names: frozenset[str]
    pattern: re.Pattern[str]
    gone: Gone

    def take_out_of(self, recording: sqlite3.Row) -> bool:
        """Take the person out of one recording; whether it is kept for others, changed."""
        sheet = json.loads(recording["sheet"])
        mentioned = self.pattern.search("\n".join(self._all_text(recording)))
        if not mentioned and not is_on(sheet, self.names):
            return False
        own = leftovers.made_of(self.home, recording["sha256"], recording["path"], recording["footage"])
        if recording["footage"] and Path(recording["footage"]) not in own:
            self.gone.footage.append(recording["footage"])
        if is_theirs_alone(sheet, self.names):
            self.gone.entries += self._count("entry", recording["sha256"])
            self.gone.verdicts += self._count("verdict", recording["sha256"])
            self.db.execute("DELETE FROM recording WHERE sha256 = ?", (recording["sha256"],))
            self.gone.recordings.append(recording["name"])
            self.gone.files += own
            return False
        self.gone.shared.append(recording["name"])
        self.gone.footage += map(str, own)
        self.gone.renamed += [path for path in own if renamed(path, self.pattern) != path]
        self._redact(recording, sheet)
        return True

    def _redact(self, recording: sqlite3.Row, sheet: dict[str, Any]) -> None:
        sha256 = recording["sha256"]
        entries = self.db.execute("SELECT * FROM entry WHERE recording = ?", (sha256,)).fetchall()
        theirs = [e for e in entries if e["person"] in self.ids or e["athlete"].casefold() in self.names]
        others = [e for e in entries if e not in theirs]
        quotes = [e["quote"] for e in theirs]
        quotes += self._drop_verdicts(sha256, {e["thread"] for e in theirs}, {e["thread"] for e in others})
        quotes += self._drop_observations(sha256, {e["observation"] for e in theirs})
        kept = [e["quote"] for e in others]
        transcript = redact_transcript(json.loads(recording["transcript"]), self.pattern, quotes, kept)
        self.db.execute(
            "UPDATE recording SET name = ?, sheet = ?, footage = ?, path = ?, transcript = ? WHERE sha256 = ?",
            (
                without_names(recording["name"], self.pattern),
                json.dumps(sheet_without(sheet, self.names, self.pattern), ensure_ascii=False),
                self._path(recording["footage"]),
                self._path(recording["path"]),
                json.dumps(transcript, ensure_ascii=False),
                sha256,
            ),
        )
        self.gone.entries += len(theirs)

    def _drop_observations(self, recording: str, ids: set[str | None]) -> list[str]:
        """Delete what was read of them in every reading, take their name out of the rest; the quotes that went."""
        quotes = []
        for row in self.db.execute(
            "SELECT o.rowid AS number, o.* FROM observation o JOIN reading r ON r.id = o.reading WHERE r.recording = ?",
            (recording,),
        ).fetchall():
            if row["id"] in ids or row["athlete"].casefold() in self.names:
                quotes.append(row["quote"])
                self.db.execute("DELETE FROM observation WHERE rowid = ?", (row["number"],))
            else:
                texts = [_text(row[name], self.pattern) for name in _TEXTS]
                self.db.execute(
                    "UPDATE observation SET quote = ?, why = ?, unlisted = ? WHERE rowid = ?", (*texts, row["number"])
                )
        return quotes

    def _drop_verdicts(self, recording: str, theirs: set[int | None], others: set[int | None]) -> list[str]:
        """Delete what was decided about them, take their name out of the rest; the quotes that went.

        `theirs` and `others` are the threads of what is in the log; those of neither were undone.
        """
        rows = self.db.execute("SELECT * FROM verdict WHERE recording = ?", (recording,)).fetchall()
        named = {
            row["thread"]
            for row in rows
            for about in (json.loads(row["seen"]), json.loads(row["changes"]))
            if str(about.get("athlete", "")).casefold() in self.names
        }
        dropped = (named | theirs) - others
        quotes = []
        for row in rows:
            if row["thread"] in dropped:
                quotes += [row["quote"], json.loads(row["seen"])["quote"]]
                self.db.execute("DELETE FROM verdict WHERE id = ?", (row["id"],))
                self.gone.verdicts += 1
            else:
                columns = ("quote", "why", "made_by", "seen", "changes")
                values = [
                    self._json(row[c]) if c in ("seen", "changes") else _text(row[c], self.pattern) for c in columns
                ]
                self.db.execute(
                    f"UPDATE verdict SET {', '.join(f'{c} = ?' for c in columns)} WHERE id = ?", (*values, row["id"])
                )
        return quotes

    def _json(self, data: str) -> str:
        """An observation's fields as JSON, the name out of the texts and out of the athlete."""
        values = json.loads(data)
        return json.dumps({k: _text(v, self.pattern) if k in (*_TEXTS, "athlete") else v for k, v in values.items()})

    def _path(self, path: str | None) -> str | None:
        """Where a file lies: a file of the home under its new name; unknown where the name is left in it."""
        if path and Path(path).is_relative_to(self.home.resolve()):
            path = str(renamed(Path(path), self.pattern))
        return None if path and self.pattern.search(path) else path

    def _count(self, table: str, recording: str) -> int:
        count: int = self.db.execute(f"SELECT count(*) FROM {table} WHERE recording = ?", (recording,)).fetchone()[0]
        return count

    def _all_text(self, recording: sqlite3.Row) -> Iterable[str]:
        """Every text of a recording in which a name may stand."""
        yield from (recording["name"], recording["footage"] or "", recording["path"] or "")
        for segment in json.loads(recording["transcript"])["segments"]:
            yield segment["text"]
            yield from (f"{word['word']} {word['heard'] or ''}" for word in segment.get("words") or ())
        for row in self.db.execute("SELECT * FROM verdict WHERE recording = ?", (recording["sha256"],)):
            yield " ".join(str(row[c] or "") for c in ("quote", "why", "made_by", "seen", "changes"))


def _text(text: str | None, names: re.Pattern[str]) -> str | None:
    return without_names(text, names) if text else text
