"""Whatever happens to the machine, what was acknowledged is kept and nothing is half-written."""

import resource
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest
from kill import Harness, state

from notes.archive import database

FIRST = "--first-reader-only"


def test_killed_at_random_moments(tmp_path: Path) -> None:
    """The short form of `make kill`."""
    harness = Harness(tmp_path, seed=7)

    harness.kill(12)

    assert sum(harness.kills.values()) >= 12 and len(harness.kills) >= 4


def start(home: Path, *words: object, **keys: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "notes.cli", "--home", str(home), *map(str, words)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **keys)  # type: ignore[call-overload, no-any-return]


def talks(folder: Path, name: str, count: int) -> list[Path]:
    paths = [folder / f"{name}-{i}.vtt" for i in range(count)]
    for path in paths:
        path.write_text(f"WEBVTT\n\n00:00:12.000 --> 00:00:15.000\nYou're leaning back. This is {path.stem}.\n")
    return paths


def test_two_processes_that_write_at_once_both_finish(home: Path, sheet: Path, tmp_path: Path) -> None:
    adding = [start(home, "add", *talks(tmp_path, name, 6), "--sheet", sheet, FIRST) for name in ("one", "other")]

    ended = [(process.communicate(timeout=120), process.returncode) for process in adding]

    assert [code for _, code in ended] == [0, 0], ended
    assert "".join(out for (out, _), _ in ended).count(": kept;") == 12
    assert len(state(home)["recording"]) == 12


def test_a_log_that_stays_locked_is_told_in_a_sentence(
    tapeside: Callable[..., object], home: Path, sheet: Path, talk: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tapeside("log", "Mara")
    before = state(home)
    monkeypatch.setattr(database, "_PATIENCE_S", 0.1)
    with closing(sqlite3.connect(home / "tapeside.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        done = tapeside("add", talk, "--sheet", sheet, FIRST)

    assert done.code == 2 and "another tapeside is writing in it" in done.err
    assert state(home) == before


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of half a megabyte."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", folder], capture_output=True, text=True, check=False
    )
    if mounted.returncode:
        pytest.skip(f"no small file system can be mounted here ({mounted.stderr.strip()}); the limit test stands in")
    yield folder
    subprocess.run(["umount", folder], check=True)


def test_a_full_disk_loses_nothing(small_disk: Path, sheet: Path, tmp_path: Path) -> None:
    home = small_disk / "home"
    first, second = talks(tmp_path, "talk", 2)
    assert start(home, "add", first, "--sheet", sheet, FIRST).wait(60) == 0
    assert start(home, "backup", tmp_path / "club.zip").wait(60) == 0
    before = state(home)
    filler = small_disk / "filler"
    with filler.open("wb", buffering=0) as out, pytest.raises(OSError):
        while True:
            out.write(bytes(1024))

    for words in (
        ("add", second, "--sheet", sheet, FIRST),
        ("backup", small_disk / "club.zip"),
        ("export", "--out", small_disk / "club.csv"),
        ("restore", tmp_path / "club.zip"),
        ("forget", "Mara", "--yes"),
    ):
        process = start(home, *words)
        _, err = process.communicate(timeout=60)
        told = err.strip().splitlines()
        assert process.returncode == 2, (words, err)
        assert "space" in told[-1] and "Traceback" not in err, err

    filler.unlink()
    assert state(home) == before
    assert start(home, "add", second, "--sheet", sheet, FIRST).wait(60) == 0
    assert len(state(home)["recording"]) == 2


def test_a_limit_on_the_size_of_files_loses_nothing(home: Path, sheet: Path, tmp_path: Path) -> None:
    (first,) = talks(tmp_path, "talk", 1)
    assert start(home, "add", first, "--sheet", sheet, FIRST).wait(60) == 0
    before = state(home)
    long = tmp_path / "long.vtt"
    long.write_text("WEBVTT\n" + "\n00:00:12.000 --> 00:00:15.000\nNobody moves and nobody talks.\n" * 4_000)

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))

    process = start(home, "add", long, "--sheet", sheet, FIRST, preexec_fn=limit)
    _, err = process.communicate(timeout=60)

    assert process.returncode == 2 and "Cannot use the log" in err and "Traceback" not in err, err
    assert state(home) == before


def test_a_damaged_page_is_told_and_the_newest_backup_offered(
    tapeside: Callable[..., object], home: Path, sheet: Path, tmp_path: Path
) -> None:
    tapeside("add", *talks(tmp_path, "talk", 5), "--sheet", sheet, FIRST)
    tapeside("backup", tmp_path / "club.zip")
    before = state(home)
    with (home / "tapeside.db").open("r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * 40_000)

    done = tapeside("log", "Mara")
    assert done.code == 2 and done.err.count("\n") == 1, done
    assert f'tapeside restore "{tmp_path / "club.zip"}"' in done.err
    restored = tapeside("restore", tmp_path / "club.zip")

    assert restored.code == 0 and "damaged-" in restored.out
    assert state(home) == before
