"""Backup and restore: real files, compared as they lie on disk."""

import json
import sqlite3
import stat
import threading
import zipfile
from contextlib import closing
from pathlib import Path

import pytest
from test_archive import add

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.backup import make_backup
from notes.archive.copies import newest_backup, remember_copy
from notes.archive.restore import restore
from notes.errors import BadBackup, BadHome


def content(home: Path) -> dict[str, object]:
    """All that a home holds: every row of every table, and the owner's files."""
    with closing(sqlite3.connect(home / "tapeside.db")) as db:
        held: dict[str, object] = {"dump": list(db.iterdump()), "form": db.execute("PRAGMA user_version").fetchone()}
    return held | {path.name: path.read_text() for path in home.glob("*.yaml")}


@pytest.fixture
def kept(home: Path, vocabulary: Lexicon) -> Path:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.", "Lovely long teep.")
    (home / "lexicon.yaml").write_text("- {id: chin-up, extends: true, say: [flying the kite]}\n")
    return home


def test_a_restored_home_is_equal_to_the_one_backed_up(kept: Path, vocabulary: Lexicon, tmp_path: Path) -> None:
    before = content(kept)
    make_backup(kept, tmp_path / "club.zip")
    with Archive(kept) as archive:
        add(archive, vocabulary, "two", "Your chin is in the air.")
    (kept / "lexicon.yaml").unlink()
    (kept / "misheard.yaml").write_text("[]\n")

    _, aside = restore(kept, tmp_path / "club.zip")

    assert content(kept) == before
    assert content_of_backup(aside, tmp_path) != before


def test_what_a_restore_replaced_can_be_put_back(kept: Path, vocabulary: Lexicon, tmp_path: Path) -> None:
    make_backup(kept, tmp_path / "club.zip")
    with Archive(kept) as archive:
        add(archive, vocabulary, "two", "Your chin is in the air.")
    later = content(kept)

    _, aside = restore(kept, tmp_path / "club.zip")
    assert aside
    restore(kept, aside)

    assert content(kept) == later


def test_a_backup_goes_to_a_new_home_of_another_machine(kept: Path, tmp_path: Path) -> None:
    make_backup(kept, tmp_path / "club.zip")

    _, aside = restore(tmp_path / "new" / "home", tmp_path / "club.zip")

    assert aside is None
    assert content(tmp_path / "new" / "home") == content(kept)


def test_a_backup_is_for_its_owner_only_and_holds_what_it_tells(kept: Path, tmp_path: Path) -> None:
    manifest = make_backup(kept, tmp_path / "club.zip")

    assert stat.S_IMODE((tmp_path / "club.zip").stat().st_mode) == 0o600
    assert manifest.rows["recording"] == 1 and set(manifest.files) == {"tapeside.db", "lexicon.yaml"}
    assert sorted(path.name for path in tmp_path.iterdir()) == ["club.zip", "home"]


def test_a_backup_holds_one_moment_of_a_log_in_use(kept: Path, vocabulary: Lexicon, tmp_path: Path) -> None:
    done = threading.Event()

    def write() -> None:
        with Archive(kept) as archive:
            for i in range(200):
                if done.is_set():
                    break
                add(archive, vocabulary, f"more-{i}", "You're leaning back.")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        manifests = [make_backup(kept, tmp_path / f"{i}.zip") for i in range(5)]
    finally:
        done.set()
        writer.join()

    counts = [m.rows["recording"] for m in manifests]
    assert counts == sorted(counts)
    assert all(m.rows["recording"] == m.rows["reading"] for m in manifests)
    restore(tmp_path / "new", tmp_path / "4.zip")
    with Archive(tmp_path / "new") as archive:
        assert archive.db.execute("SELECT count(*) FROM recording").fetchone()[0] == counts[-1]


def test_a_name_that_is_taken_is_left_alone(kept: Path, tmp_path: Path) -> None:
    (tmp_path / "club.zip").write_text("something else")

    with pytest.raises(BadBackup, match="is there already"):
        make_backup(kept, tmp_path / "club.zip")

    assert (tmp_path / "club.zip").read_text() == "something else"


def test_a_home_without_a_log_is_not_backed_up(tmp_path: Path) -> None:
    with pytest.raises(BadHome, match="no log"):
        make_backup(tmp_path, tmp_path / "club.zip")


def rewritten(backup: Path, change: dict[str, bytes]) -> None:
    """A backup with some members put in another's place, well packed."""
    with zipfile.ZipFile(backup) as old:
        members = {name: old.read(name) for name in old.namelist()} | change
    with zipfile.ZipFile(backup, "w") as new:
        for name, data in members.items():
            new.writestr(name, data)


def manifest_with(backup: Path, **keys: object) -> bytes:
    with zipfile.ZipFile(backup) as packed:
        return json.dumps(json.loads(packed.read("manifest.json")) | keys).encode()


def test_damaged_foreign_and_newer_files_are_refused_and_change_nothing(kept: Path, tmp_path: Path) -> None:
    good = tmp_path / "good.zip"
    make_backup(kept, good)
    before = content(kept)
    bad = tmp_path / "bad.zip"

    def refuse(told: str) -> None:
        with pytest.raises(BadBackup, match=told):
            restore(kept, bad)
        assert content(kept) == before
        assert sorted(path.name for path in kept.iterdir()) == ["lexicon.yaml", "tapeside.db"]

    refuse("No such file")
    bad.write_text("no zip at all")
    refuse("no backup of tapeside")
    bad.write_bytes(good.read_bytes()[:-200])
    refuse("no backup of tapeside, or is damaged")
    flipped = bytearray(good.read_bytes())
    flipped[len(flipped) // 2] ^= 255
    bad.write_bytes(flipped)
    refuse("damaged")
    with zipfile.ZipFile(bad, "w") as foreign:
        foreign.writestr("manifest.json", "{}")
    refuse("no backup of tapeside")
    bad.write_bytes(good.read_bytes())
    rewritten(bad, {"lexicon.yaml": b"- {id: other}\n"})
    refuse('"lexicon.yaml" is not what was put in')
    bad.write_bytes(good.read_bytes())
    rewritten(bad, {"../out.yaml": b"x"})
    refuse("does not hold what its manifest says")
    bad.write_bytes(good.read_bytes())
    rewritten(bad, {"manifest.json": manifest_with(good, form=99)})
    refuse("newer tapeside")
    bad.write_bytes(good.read_bytes())
    rewritten(bad, {"manifest.json": manifest_with(good, rows={"recording": 7})})
    refuse("does not hold what its manifest says")


def test_a_damaged_log_is_put_aside_and_replaced(kept: Path, tmp_path: Path) -> None:
    make_backup(kept, tmp_path / "club.zip")
    remember_copy(kept, tmp_path / "club.zip")
    before = content(kept)
    (kept / "tapeside.db").write_bytes(b"not a database" * 500)

    with pytest.raises(BadHome, match=r'damaged.*tapeside restore ".*club.zip"'):
        Archive(kept)
    _, aside = restore(kept, tmp_path / "club.zip")

    assert content(kept) == before
    assert aside and (aside / "tapeside.db").read_bytes().startswith(b"not a database")


def test_the_newest_backup_that_is_still_there_is_offered(kept: Path, tmp_path: Path) -> None:
    for name in ("first.zip", "second.zip"):
        make_backup(kept, tmp_path / name)
        remember_copy(kept, tmp_path / name)
    assert newest_backup(kept) == tmp_path / "second.zip"

    (tmp_path / "second.zip").unlink()

    assert newest_backup(kept) == tmp_path / "first.zip"


def test_a_command_that_runs_meanwhile_goes_on_with_the_restored_log(
    kept: Path, vocabulary: Lexicon, tmp_path: Path
) -> None:
    make_backup(kept, tmp_path / "club.zip")
    with Archive(kept) as running:
        add(running, vocabulary, "two", "Your chin is in the air.")
        restore(kept, tmp_path / "club.zip")
        add(running, vocabulary, "three", "Your chin is in the air.")
        names = [row[0] for row in running.db.execute("SELECT sha256 FROM recording ORDER BY 1")]

    assert names == ["one", "three"]


def content_of_backup(backup: Path | None, tmp_path: Path) -> dict[str, object]:
    assert backup
    restore(tmp_path / "look", backup)
    return content(tmp_path / "look")
