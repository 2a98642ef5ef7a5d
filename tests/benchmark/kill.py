"""Kill -9 at random moments: what was acknowledged is there, and nothing is half-written.

    python tests/benchmark/kill.py [KILLS] [SEED]

Each command is first run to its end in a twin of the home. Then it is run in the home itself and killed at a random
moment of the time that the twin took, half of the times in its last third, where most is written. The home must then be sound and equal, row for row, to what it was before or to
the twin; if the command had said that it was done, to the twin. The processes are forked from one that has loaded the
program and the vocabulary, so that the kills fall into the work and not into the loading.
"""

import os
import random
import re
import shutil
import signal
import sqlite3
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from notes.archive.archive import Archive
from notes.archive.restore import restore
from notes.cli import app
from notes.commands import add, correct, reread
from notes.intake import load_lexicon
from notes.settings import OWNER_FILES

FAULTS = (
    "You're leaning back.",
    "Your chin is in the air.",
    "Your head stayed on the tramlines.",
    "Lovely long teep.",
    "You wore sunglasses at night.",
)
GYM_WORDS = "- {id: chin-up, extends: true, say: [sunglasses at night], hits: [you wore sunglasses at night]}\n"
# No name of hexadecimal digits alone: its letters would be found in fingerprints.
GUESTS = ("Anouk", "Bertil", "Ciro", "Dalia", "Elke", "Fabio", "Gita", "Ilmari")


@dataclass(frozen=True)
class Run:
    """A command and what it said before it ended or was killed; how long it took in seconds."""

    said: str
    took: float
    killed: bool


def run(home: Path, words: list[str], kill_after: float | None = None) -> Run:
    """Run a command in a process of its own, killed after so many seconds."""
    read_end, write_end = os.pipe()
    begun = time.perf_counter()
    if (child := os.fork()) == 0:
        os.close(read_end)
        _run_and_exit(home, words, write_end)
    os.close(write_end)
    if kill_after is not None:
        time.sleep(kill_after)
        os.kill(child, signal.SIGKILL)
    with os.fdopen(read_end) as pipe:
        said = pipe.read()
    _, status = os.waitpid(child, 0)
    took = time.perf_counter() - begun
    killed = os.WIFSIGNALED(status)
    if not killed and os.WEXITSTATUS(status):
        raise AssertionError(f"{words[0]} ended with {os.WEXITSTATUS(status)}: {said}")
    return Run(said, took, killed)


def _run_and_exit(home: Path, words: list[str], out: int) -> None:
    """In the child: all that is said goes to the pipe; nothing of the parent is cleaned up."""
    code = 1
    try:
        os.dup2(out, 1)
        os.dup2(out, 2)
        sys.stdout = sys.stderr = os.fdopen(out, "w", buffering=1)
        code = app.main(["--home", str(home), *words], standalone_mode=False) or 0
    except BaseException as error:
        print(repr(error))
    finally:
        sys.stdout.flush()
        os._exit(code)


def state(home: Path) -> dict[str, Any]:
    """Every row of every table but for times of making, and the owner's files; the database is opened as any command
    opens it, and checked."""
    if not (home / "tapeside.db").exists():
        return {}
    Archive(home).db.close()
    held: dict[str, Any] = {name: (home / name).read_text() for name in OWNER_FILES if (home / name).exists()}
    with closing(sqlite3.connect(home / "tapeside.db")) as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert db.execute("PRAGMA foreign_key_check").fetchall() == []
        for name, sort in db.execute("SELECT name, type FROM pragma_table_list WHERE schema = 'main'").fetchall():
            if sort == "virtual" and name.endswith("_search"):
                db.execute(f"INSERT INTO {name} ({name}) VALUES ('integrity-check')")
            if sort == "table" and not name.startswith("sqlite_"):
                columns = [c[1] for c in db.execute(f"PRAGMA table_info({name})") if not c[1].endswith("_at")]
                held[name] = sorted(map(repr, db.execute(f"SELECT {', '.join(columns)} FROM {name}")))
    return held


@dataclass
class Harness:
    """A home that grows while its commands are killed."""

    folder: Path
    seed: int
    kills: Counter[str] = field(default_factory=Counter)
    outcomes: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.rng = random.Random(self.seed)
        self.home = self.folder / "home"
        self.number = 0
        gym = self.folder / "gym"
        gym.mkdir()
        (gym / "lexicon.yaml").write_text(GYM_WORDS)
        self.lexicons = [load_lexicon(self.home), load_lexicon(gym)]
        for module in (add, correct, reread):
            module.load_lexicon = lambda home: self.lexicons[0]  # type: ignore[attr-defined]
        for _ in range(3):
            run(self.home, self.add())
        run(self.home, self.backup())

    def kill(self, times: int) -> None:
        """Kill so many commands, each sort in its turn."""
        kinds: Iterator[Callable[[], list[str]]] = iter([])
        while sum(self.kills.values()) < times:
            make = next(kinds, None)
            if make is None:
                kinds = iter([self.add, self.correct, self.reread, self.add, self.backup, self.restore, self.forget])
                continue
            self.kill_one(make())

    def kill_one(self, words: list[str]) -> None:
        """One command, killed; raises AssertionError where something is lost or half-written."""
        twin = self.folder / "twin"
        shutil.rmtree(twin, ignore_errors=True)
        shutil.copytree(self.home, twin)
        before = state(self.home)
        whole = run(twin, [word.replace("club-", "twin-") if words[0] == "backup" else word for word in words])
        after = state(twin)
        killed = run(self.home, words, whole.took * self.rng.uniform(self.rng.choice((0, 0.7)), 1.1))
        now = state(self.home)
        acknowledged = bool(re.search(_ACKNOWLEDGED[words[0]], killed.said))
        assert now in ((after,) if acknowledged else (before, after)), f"{words}: half-written or lost"
        if words[0] == "backup" and Path(words[1]).exists():
            restore(self.folder / f"look-{self.number}", Path(words[1]))
            assert state(self.folder / f"look-{self.number}") == before
        elif words[0] == "backup":
            assert not acknowledged
        if words[0] == "forget" and now == after:
            assert not traces(self.home, words[1]), traces(self.home, words[1])
        sort = "ended before the kill" if not killed.killed else "done" if now == after != before else "not begun"
        self.outcomes[f"{words[0]}: {sort}{', told' if acknowledged else ''}"] += 1
        self.kills[words[0]] += killed.killed

    def add(self) -> list[str]:
        """A new recording of one guest, or of two."""
        self.number += 1
        names = self.rng.sample(GUESTS, self.rng.choice((1, 1, 2)))
        talk, sheet = self.folder / f"talk-{self.number}.vtt", self.folder / f"talk-{self.number}.yaml"
        said = [f"{self.rng.choice(names)}, {self.rng.choice(FAULTS).lower()}" for _ in range(self.rng.randint(2, 30))]
        cues = (f"00:{i:02}:00.000 --> 00:{i:02}:0{i % 9}.500\n{line}\n" for i, line in enumerate(said))
        talk.write_text("WEBVTT\n\n" + "\n".join([*cues, f"00:59:00.000 --> 00:59:01.000\nNumber {self.number}.\n"]))
        athletes = ", ".join(f"{{name: {name}}}" for name in names)
        sheet.write_text(f"sport: mma\ndate: 2031-03-{1 + self.number % 28:02}\nathletes: [{athletes}]\n")
        return ["add", str(talk), "--sheet", str(sheet), "--first-reader-only"]

    def correct(self) -> list[str]:
        """Somebody's word on something in the log."""
        with closing(sqlite3.connect(self.home / "tapeside.db")) as db:
            ids = [row[0] for row in db.execute("SELECT id FROM entry GROUP BY id HAVING count(*) = 1 ORDER BY id")]
        said = self.rng.choice((["kept"], ["struck"], ["amended", f"round={self.rng.randint(1, 12)}"]))
        return ["correct", self.rng.choice(ids), *said, "--by", "Imre"]

    def reread(self) -> list[str]:
        """Everything read again with a vocabulary that knows more, or less, than the last one."""
        self.lexicons.reverse()
        return ["reread", "--yes", "--first-reader-only"]

    def backup(self) -> list[str]:
        """A backup under a new name."""
        self.number += 1
        (self.home / "lexicon.yaml").write_text(f"# {self.number}\n")
        return ["backup", str(self.folder / f"club-{self.number}.zip")]

    def restore(self) -> list[str]:
        """A restore of one of the newer backups that came to their end."""
        return ["restore", str(self.rng.choice(sorted(self.folder.glob("club-*.zip"))[-5:]))]

    def forget(self) -> list[str]:
        """Forgetting somebody who is in the log."""
        with closing(sqlite3.connect(self.home / "tapeside.db")) as db:
            names = [row[0] for row in db.execute("SELECT name FROM person ORDER BY name")]
        return ["forget", self.rng.choice(names), "--yes"]


# What a command says when its work is kept.
_ACKNOWLEDGED = {
    "add": ": kept;",
    "correct": ": (kept|struck|amended): ",
    "reread": "read again|Nothing would change",
    "backup": "written and compared",
    "restore": ": restored;",
    "forget": ": forgotten",
}


def traces(folder: Path, *words: str) -> list[str]:
    """Files under a folder whose name or bytes hold one of the words, in any case."""
    found = []
    for path in (path for path in folder.rglob("*") if path.is_file()):
        held = path.read_bytes().lower() + str(path.relative_to(folder)).lower().encode()
        found += [f"{path.relative_to(folder)}: {word}" for word in words if word.lower().encode() in held]
    return found


def main() -> None:
    """Kill as often as asked and tell what came of it."""
    times, seed = (int(word) for word in [*sys.argv[1:], *("200", "1")[len(sys.argv) - 1 :]])
    begun = time.perf_counter()
    with TemporaryDirectory(prefix="tapeside-kill-") as folder:
        harness = Harness(Path(folder), seed)
        harness.kill(times)
    for outcome, count in sorted(harness.outcomes.items()):
        print(f"{count:5}  {outcome}")
    print(
        f"{sum(harness.kills.values())} killed with seed {seed}, 0 lost, 0 half-written, {time.perf_counter() - begun:.0f} s"
    )


if __name__ == "__main__":
    main()
