"""Commands run as a user runs them, in this process."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from notes.cli import main

SHEET = """\
sport: kickboxing
date: 2031-03-14
coach: {name: Imre}
athletes: [{name: Mara, aliases: [Mo], stance: orthodox}]
opponent: {name: Devon}
rounds: {length: 180, rest: 60, first_starts_at: 5}
"""

TALK = """\
WEBVTT

00:00:12.000 --> 00:00:15.000
Devon lands because your head stayed on the tramlines.

00:00:15.200 --> 00:00:17.000
Get your head off the line with the right hand.

00:04:20.000 --> 00:04:22.000
Lovely long teep.

00:04:31.000 --> 00:04:34.000
You kicked with nothing in front of it, that low kick.
"""


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def tapeside(home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    def run(*words: object) -> Done:
        monkeypatch.setattr(sys, "argv", ["tapeside", "--home", str(home), *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return Done(int(ended.value.code or 0), said.out, said.err)

    return run


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "review.yaml"
    path.write_text(SHEET)
    return path


@pytest.fixture
def talk(tmp_path: Path) -> Path:
    path = tmp_path / "review.vtt"
    path.write_text(TALK)
    return path
