"""From a transcript to log, search and critique, command by command."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from notes.cli import COMMANDS

Tapeside = Callable[..., "object"]


def test_extract_prints_the_agreed_json_and_keeps_nothing(tapeside, sheet: Path, talk: Path, home: Path) -> None:
    done = tapeside("extract", talk, "--sheet", sheet)
    data = json.loads(done.out)

    assert done.code == 0
    assert data["schema"] == "tapeside/1"
    assert data["recording"] == "review.vtt"
    assert data["sheet"]["date"] == "2031-03-14"
    first = data["observations"][0]
    assert set(first) == {
        "id", "athlete", "role", "kind", "techniques", "faults", "fixes", "why", "unlisted", "spoken", "footage",
        "round", "again", "quote", "confidence", "verdict",
    }  # fmt: skip
    assert (first["athlete"], first["kind"], first["faults"]) == ("Mara", "fault", ["head-on-centreline"])
    assert first["fixes"] == ["head-off-line"]
    assert first["spoken"] == {"start": 12.0, "end": 17.0}
    assert (first["footage"], first["round"]) == (12.0, 1)
    assert data["observations"][-1]["round"] == 2
    assert not home.exists()


def test_extract_writes_the_same_to_a_file(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> None:
    printed = json.loads(tapeside("extract", talk, "--sheet", sheet).out)

    assert tapeside("extract", talk, "--sheet", sheet, "--out", tmp_path / "o.json").code == 0
    assert json.loads((tmp_path / "o.json").read_text()) == printed


def test_add_log_search_and_critique(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> None:
    added = tapeside("add", talk, "--sheet", sheet)
    assert added.code == 0 and "observations: Mara 3" in added.out

    log = tapeside("log", "mo")
    assert log.code == 0
    assert "head-on-centreline" in log.out and "push-kick" in log.out and "no-setup on low-kick" in log.out

    found = json.loads(tapeside("search", "head on centreline", "--json").out)["results"]
    assert found[0]["observation"]["quote"].startswith("Devon lands because your head stayed on the tramlines.")
    assert found[0]["matched"] and found[0]["score"] > 0

    out = tmp_path / "mara.md"
    assert tapeside("critique", "Mara", "--out", out).code == 0
    written = out.read_text()
    assert "What went well" in written and "Head on centreline" in written and "Drill:" in written


def test_adding_twice_changes_nothing(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)
    before = tapeside("log", "Mara", "--json").out
    copy = tmp_path / "copy.vtt"
    copy.write_bytes(talk.read_bytes())

    again = tapeside("add", copy, "--sheet", sheet)

    assert again.code == 0 and "in the log already" in again.out
    assert tapeside("log", "Mara", "--json").out == before


def test_filters_narrow_the_log_and_the_search(tapeside, sheet: Path, talk: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)

    assert "head-on" not in tapeside("log", "Mara", "--kind", "strength").out
    assert "no-setup" in tapeside("log", "Mara", "--technique", "low-kick").out
    assert tapeside("log", "Mara", "--until", "2030-01-01").code == 1
    assert tapeside("search", "low kick", "--round", 1).code == 1
    assert tapeside("search", "low kick", "--round", 2, "--fault", "no-setup").code == 0
    assert tapeside("search", "tramlinse").code == 0
    assert tapeside("search", "xylophone").code == 1


def test_two_sessions_show_which_way_a_fault_goes(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)
    later = tmp_path / "later.yaml"
    later.write_text(sheet.read_text().replace("2031-03-14", "2031-03-21"))
    second = tmp_path / "second.vtt"
    second.write_text(
        "WEBVTT\n\n00:00:12.000 --> 00:00:15.000\nYour head is on the centreline again.\n\n"
        "00:18:30.000 --> 00:18:33.000\nLovely long teep.\n"
    )
    tapeside("add", second, "--sheet", later)

    log = json.loads(tapeside("log", "Mara", "--json").out)
    lines = {line["key"]: line for line in log["lines"]}

    assert [day["amount"] for day in log["watched"]["days"]] == [1.161, 4.822]
    assert lines["head-on-centreline"]["sessions"] == 2
    assert lines["head-on-centreline"]["standing"] == "standing"
    assert lines["no-setup"]["watched_since"] == 4.822


@pytest.mark.parametrize("query", ["don't", "1-2", "left-hand", '"', "jab AND", "*", "a" * 500, "’", "NEAR(", "-", ""])
def test_any_text_is_safe_to_search_for(tapeside, sheet: Path, talk: Path, query: str) -> None:
    """Query traps of SQLite FTS5, tried with SQLite 3.40."""
    tapeside("add", talk, "--sheet", sheet)

    assert tapeside("search", "--", query).code in (0, 1)


@pytest.mark.parametrize("command", [c for c in COMMANDS if c != "lexicon"])
def test_every_command_has_help_with_an_example(tapeside, command: str) -> None:
    done = tapeside(command, "--help")

    assert done.code == 0 and "Example: tapeside" in done.out.replace("\n", " ")


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; sys.argv = ['tapeside', '--help']\nfrom notes.cli import main\n"
        "try: main()\nexcept SystemExit: pass\n"
        "heavy = {'spacy', 'ctranslate2', 'av', 'numpy', 'pydantic', 'sqlite3', 'simplemma', 'yaml'}\n"
        "print('heavy:', heavy & set(sys.modules))"
    )

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "heavy: set()" in done.stdout


def test_lexicon_check_list_and_explain(tapeside) -> None:
    assert tapeside("lexicon", "check").code == 0
    assert "head-on-centreline" in tapeside("lexicon", "list").out
    told = tapeside("lexicon", "explain", "don't drop your right hand").out
    assert "denied" in told and "logged: fault of the athlete" in told


def test_the_first_reader_alone_says_what_is_less_good(tapeside, sheet: Path, talk: Path) -> None:
    both = tapeside("extract", talk, "--sheet", sheet)
    alone = tapeside("extract", talk, "--sheet", sheet, "--first-reader-only")

    assert "first reader alone" in alone.err and both.err == ""
    assert "perhaps" in json.loads(both.out)
    assert json.loads(alone.out)["perhaps"] == []


def test_explain_tells_of_both_readers(tapeside) -> None:
    done = tapeside("lexicon", "explain", "Your chin's up in the air after that cross.")

    assert "fault chin-up" in done.out
    assert "second reader: fault" in done.out and done.out.count("like “") == 3
    assert "logged: fault of the athlete (athlete): chin-up, cross" in done.out
