"""The wheel holds all that the program needs, and the README tells of every command."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from notes.cli import COMMANDS

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    words = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
    return next(out.glob("*.whl"))


def test_the_wheel_holds_vocabulary_migrations_and_demo(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    wanted = [*ROOT.glob("lexicon/data/**/*.yaml"), *ROOT.glob("notes/archive/migrations/*.sql")]
    wanted += ROOT.glob("notes/report/templates/*")
    wanted += [ROOT / "demo_audio" / name for name in ("review.opus", "memo.opus", "sparring.mp4", "review.sheet.yaml")]

    assert {str(path.relative_to(ROOT)) for path in wanted} <= held


def test_the_wheel_runs_from_another_place(wheel: Path, tmp_path: Path) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path)
    code = "import lexicon, notes; print(lexicon.__file__, notes.__file__, len(lexicon.load().entries))"

    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.count(str(tmp_path)) == 2


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_tells_of_every_command(command: str) -> None:
    assert f"tapeside {command}" in (ROOT / "README.md").read_text()
