"""Homes of other ages, and damaged ones."""

import shutil
import sqlite3
from pathlib import Path

import pytest

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.backup import unpack_backup
from notes.archive.restore import restore
from notes.errors import BadHome

# A log of form 001, written by tapeside 0.1.0: a review with times, and a text without.
FIRST = Path(__file__).parents[2] / "databases" / "001.db"


@pytest.fixture
def old(home: Path) -> Path:
    home.mkdir()
    shutil.copy(FIRST, home / "tapeside.db")
    return home


def test_an_older_log_is_copied_then_brought_up_to_date(
    old: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with Archive(old) as archive:
        mara = archive.observations_of(archive.athlete("Mo"))
        ines = archive.observations_of(archive.athlete("Ines"))

    assert [(k.observation.kind, k.observation.faults, k.timed) for k in mara] == [
        ("fault", ("head-on-centreline",), True),
        ("strength", (), True),
        ("fault", ("no-setup",), True),
        ("fault", ("chin-up",), False),
    ]
    assert [k.observation.techniques for k in ines] == [("jab",)]
    said = capsys.readouterr().err
    (kept,) = (old / "backups").iterdir()
    assert said.count("\n") == 1 and str(kept) in said
    assert kept.stat().st_mode & 0o077 == 0
    (tmp_path / "look").mkdir()
    manifest = unpack_backup(kept, tmp_path / "look")
    assert (manifest.form, manifest.rows["observation"]) == (1, 6)
    restore(old, kept)
    with Archive(old) as again:
        assert again.observations_of(again.athlete("Mo")) == mara


def test_an_older_log_says_what_its_readings_say(old: Path, vocabulary: Lexicon) -> None:
    def dump(archive: Archive) -> list[tuple[object, ...]]:
        rows = archive.db.execute("SELECT * FROM entry ORDER BY number").fetchall()
        return [tuple(row)[1:] for row in rows] + [
            tuple(row) for row in archive.db.execute("SELECT words FROM entry_words ORDER BY place")
        ]

    with Archive(old) as archive:
        before = dump(archive)
        archive.db.execute("INSERT INTO entry_search (entry_search, rank) VALUES ('integrity-check', 1)")
        archive.rebuild()
        assert dump(archive) == before


def test_an_upgrade_that_fails_leaves_the_log_as_it_was(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from notes.archive import database

    def broken(script: str) -> list[str]:
        return [*real(script), "SELECT nothing FROM nowhere"]

    real = database.statements
    monkeypatch.setattr(database, "statements", broken)
    before = (old / "tapeside.db").read_bytes()
    with pytest.raises(BadHome):
        Archive(old)
    connection = sqlite3.connect(old / "tapeside.db")
    assert connection.execute("PRAGMA user_version").fetchone()[0] == 1
    assert connection.execute("SELECT count(*) FROM observation").fetchone()[0] == 6
    connection.close()
    assert before[:16] == (old / "tapeside.db").read_bytes()[:16]


def test_a_newer_log_is_refused(old: Path) -> None:
    with sqlite3.connect(old / "tapeside.db") as connection:
        connection.execute("PRAGMA user_version = 99")

    with pytest.raises(BadHome, match="newer tapeside"):
        Archive(old)


def test_a_damaged_log_offers_the_last_backup(old: Path) -> None:
    Archive(old).db.close()
    (old / "tapeside.db").write_bytes(b"not a database at all, " * 400)

    with pytest.raises(BadHome, match=r'is damaged .* tapeside restore ".*before-upgrade.*zip"'):
        Archive(old)


def test_what_is_acknowledged_is_on_the_disk(home: Path) -> None:
    with Archive(home) as archive:
        assert archive.db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert archive.db.execute("PRAGMA synchronous").fetchone()[0] == 2
