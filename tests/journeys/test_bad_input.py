"""Bad input ends with exit code 2 and one sentence; nothing is kept or half-written."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from sounds import write_video, write_wav

from notes.archive.archive import Archive


def one_sentence(done, *told: str) -> None:
    assert done.code == 2, done
    assert done.err.count("\n") == 1, done.err
    for part in told:
        assert part in done.err, done.err


def kept(home: Path) -> int:
    if not (home / "tapeside.db").exists():
        return 0
    with sqlite3.connect(home / "tapeside.db") as db:
        return int(db.execute("SELECT count(*) FROM recording").fetchone()[0])


def test_recordings_that_are_none(tapeside, sheet: Path, tmp_path: Path, home: Path) -> None:
    (tmp_path / "empty.wav").touch()
    (tmp_path / "text.mp3").write_text("only words " * 100)
    whole = write_video(tmp_path / "whole.mp4", 20, sound=True).read_bytes()
    (tmp_path / "cut.mp4").write_bytes(whole[: len(whole) // 2])
    write_video(tmp_path / "mute.mp4", 2, sound=False)

    for name, told in {
        "none.mp3": "No such file",
        ".": "is a folder",
        "empty.wav": "is empty",
        "text.mp3": "no sound or video that can be read",
        "cut.mp4": "cut short",
        "mute.mp4": "no sound track",
    }.items():
        one_sentence(tapeside("add", tmp_path / name, "--sheet", sheet), told)
    assert kept(home) == 0


def test_silence_is_no_error(tapeside, sheet: Path, tmp_path: Path) -> None:
    quiet = write_wav(tmp_path / "quiet.wav", np.zeros(16_000 * 60, np.float32))

    done = tapeside("add", quiet, "--sheet", sheet, "--model", "tiny.en")

    assert done.code == 0
    assert "no speech found" in done.err


def test_captions_with_broken_times(tapeside, sheet: Path, talk: Path, home: Path) -> None:
    talk.write_text(talk.read_text().replace("00:04:20.000", "00:04:80.000"))

    one_sentence(tapeside("add", talk, "--sheet", sheet), "review.vtt:9", "00:04:80.000")
    assert kept(home) == 0


def test_a_wrong_sheet(tapeside, talk: Path, sheet: Path, tmp_path: Path) -> None:
    sheet.write_text(sheet.read_text().replace("sport:", "sprot:"))

    one_sentence(tapeside("add", talk, "--sheet", sheet), 'unknown key "sprot"', 'did you mean "sport"')
    one_sentence(tapeside("add", talk, "--sheet", tmp_path / "none.yaml"), "No sheet at")


def test_an_unknown_athlete_command_and_option(tapeside, sheet: Path, talk: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)

    one_sentence(tapeside("log", "Marra"), 'did you mean "Mara"?')
    assert "did you mean 'search'" in tapeside("serach", "x").err
    assert tapeside("log", "Mara", "--since", "soon").code == 2
    one_sentence(tapeside("critique", "Mara", "--out", "x.xyz"), "must end in")


def test_a_wrong_model(tapeside, sheet: Path, tmp_path: Path) -> None:
    sound = write_wav(tmp_path / "a.wav", np.zeros(16_000, np.float32))

    one_sentence(tapeside("add", sound, "--sheet", sheet, "--model", tmp_path), "lacks model.bin")
    one_sentence(tapeside("add", sound, "--sheet", sheet, "--model", "bass"), "No speech model is called")


def test_an_owner_lexicon_with_a_fault(tapeside, sheet: Path, talk: Path, home: Path) -> None:
    home.mkdir()
    (home / "lexicon.yaml").write_text("- {id: chin-up, sya: [x]}\n")

    one_sentence(tapeside("add", talk, "--sheet", sheet), "lexicon.yaml:1", 'unknown key "sya"', 'did you mean "say"')


def test_a_home_that_cannot_be_used(tapeside, sheet: Path, talk: Path, home: Path) -> None:
    home.write_text("a file, not a folder")

    one_sentence(tapeside("add", talk, "--sheet", sheet), "data home")


def test_a_damaged_database_is_named(tapeside, home: Path) -> None:
    home.mkdir()
    (home / "tapeside.db").write_bytes(b"not a database" * 500)

    one_sentence(tapeside("log", "Mara"), "Cannot use the log", "tapeside.db")


def test_a_newer_database_is_refused(tapeside, home: Path) -> None:
    with Archive(home) as archive:
        archive.db.execute("PRAGMA user_version = 99")

    one_sentence(tapeside("log", "Mara"), "newer tapeside")


def test_a_full_disk_keeps_nothing(tapeside, sheet: Path, talk: Path, home: Path, monkeypatch) -> None:
    """SQLite's own page limit stands in for the disk's end: both end a write with SQLITE_FULL."""
    from notes.archive import archive as module

    def small(path: Path) -> sqlite3.Connection:
        db = module_open(path)
        pages = db.execute("PRAGMA page_count").fetchone()[0]
        db.execute(f"PRAGMA max_page_count = {pages}")
        return db

    module_open = module.open_database
    talk.write_text("WEBVTT\n" + "\n00:00:12.000 --> 00:00:15.000\nNobody moves and nobody talks.\n" * 2_000)
    monkeypatch.setattr(module, "open_database", small)

    one_sentence(tapeside("add", talk, "--sheet", sheet), "Cannot use the log", "full")
    assert kept(home) == 0


@pytest.mark.skipif(os.geteuid() == 0 and shutil.which("setpriv") is None, reason="root may write anywhere")
def test_a_read_only_home(sheet: Path, talk: Path, tmp_path: Path) -> None:
    home = tmp_path / "locked"
    home.mkdir(mode=0o500)
    words = [sys.executable, "-m", "notes.cli", "--home", str(home), "add", str(talk), "--sheet", str(sheet)]
    if os.geteuid() == 0:
        for folder in [tmp_path, *tmp_path.parents][:3]:
            folder.chmod(0o755)
        words = ["setpriv", "--reuid", "65534", "--clear-groups", *words]

    done = subprocess.run(words, capture_output=True, text=True, check=False)

    assert (done.returncode, done.stderr.count("\n")) == (2, 1), done.stderr
    assert "Cannot write in the data home" in done.stderr


def test_ctrl_c_leaves_a_whole_log(sheet: Path, tmp_path: Path, home: Path) -> None:
    clip = Path(__file__).parents[1] / "human_speech" / "jfk.flac"
    words = [sys.executable, "-m", "notes.cli", "--home", str(home), "add", str(clip), "--sheet", str(sheet)]
    for wait in (0.3, 1.5, 2.5):
        running = subprocess.Popen(words, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        time.sleep(wait)
        running.send_signal(signal.SIGINT)
        _, err = running.communicate(timeout=60)
        assert running.returncode in (0, 130, -signal.SIGINT), err
        if running.returncode == 130:
            assert "Traceback" not in err
        assert kept(home) in (0, 1)
    with Archive(home) as archive:
        assert archive.db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_ctrl_c_that_a_library_turned_into_another_error(monkeypatch: pytest.MonkeyPatch, tapeside) -> None:
    """A compiled module that is interrupted while it is imported raises ImportError."""

    def find_home(_: object) -> Path:
        try:
            signal.raise_signal(signal.SIGINT)
        except KeyboardInterrupt:
            raise ImportError("initialization failed") from None
        raise AssertionError("not interrupted")

    monkeypatch.setattr("notes.commands.common.find_home", find_home)

    done = tapeside("log", "Mara")

    assert done.code == 130
    assert done.err.startswith("Interrupted; ")
