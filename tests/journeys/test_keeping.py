"""A club's data: listed, put together, written out, backed up, forgotten; command by command."""

import csv
import json
import logging
from pathlib import Path

import pytest


@pytest.fixture
def club(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> None:
    """Mara, and a junior who stands under two spellings; long ago, and lately."""
    tapeside("add", talk, "--sheet", sheet)
    for i, name in enumerate(("Zoe", "Zoey")):
        day = f"20{20 + i * 15}-05-01"
        text = sheet.read_text().replace("2031-03-14", day)
        text = text.replace("name: Mara, aliases: [Mo]", f"name: {name}, junior: true")
        (tmp_path / f"{name}.yaml").write_text(text)
        (tmp_path / f"{i}.vtt").write_text(
            f"WEBVTT\n\n00:00:12.000 --> 00:00:15.000\n{name}, your chin is up in the air.\n"
        )
        tapeside("add", tmp_path / f"{i}.vtt", "--sheet", tmp_path / f"{name}.yaml")


def test_people_are_listed_with_juniors_marked(tapeside, club) -> None:
    listed = tapeside("people")

    assert listed.code == 0
    assert "Mara (Mo): 1 session, newest 2031-03-14; 3 observations" in listed.out
    assert "Zoe, junior: 1 session" in listed.out
    juniors = json.loads(tapeside("people", "--juniors", "--json").out)["people"]
    assert [p["name"] for p in juniors] == ["Zoe", "Zoey"]


def test_those_long_not_seen_are_offered_for_forgetting(tapeside, club) -> None:
    old = tapeside("people", "--older-than", 365)

    assert old.out.startswith("Zoe, junior") and "Zoey" not in old.out and "Mara" not in old.out
    assert tapeside("people", "--older-than", 40_000).code == 1


def test_two_spellings_are_put_together_and_taken_apart(tapeside, club) -> None:
    merged = tapeside("people", "merge", "Zoey", "Zoe", "--yes", "--why", "a typo")
    assert merged.code == 0 and "Zoey is Zoe from now on" in merged.out
    assert "Zoe (Zoey), junior: 2 sessions" in tapeside("people").out
    assert json.loads(tapeside("log", "Zoey", "--json").out)["sessions"] == 2

    split = tapeside("people", "split", "Zoey")

    assert split.code == 0 and "1 observation." in split.out
    assert json.loads(tapeside("log", "Zoe", "--json").out)["sessions"] == 1
    assert tapeside("people", "split", "Zoey").code == 2
    assert 'did you mean "Zoe"' in tapeside("people", "merge", "Zooe", "Mara").err


def test_merged_names_are_forgotten_together(tapeside, club, home: Path) -> None:
    tapeside("people", "merge", "Zoey", "Zoe", "--yes")

    done = tapeside("forget", "Zoe", "--yes")

    assert done.code == 0 and "recordings of theirs alone (2)" in done.out
    assert not any(b"zoe" in path.read_bytes().lower() for path in home.rglob("*") if path.is_file())
    assert tapeside("people").out.count("\n") == 1


def test_what_was_struck_and_who_is_a_junior_is_in_the_export(tapeside, club, tmp_path: Path) -> None:
    first = json.loads(tapeside("log", "Zoe", "--json").out)["lines"][0]["observations"][0]["id"]
    tapeside("correct", first, "struck")

    assert tapeside("export", "--out", tmp_path / "club.csv").code == 0

    rows = {row["id"]: row for row in csv.DictReader((tmp_path / "club.csv").open(encoding="utf-8", newline=""))}
    assert (rows[first]["verdict"], rows[first]["junior"], rows[first]["date"]) == ("struck", "true", "2020-05-01")
    assert len(rows) == 5 and {row["junior"] for row in rows.values() if row["athlete"] == "Mara"} == {"false"}
    assert tapeside("export", "--out", tmp_path / "club.txt").code == 2


def test_a_log_comes_back_from_its_backup(tapeside, club, tmp_path: Path) -> None:
    before = tapeside("people", "--json").out
    saved = tapeside("backup", tmp_path / "club.zip")
    assert saved.code == 0 and "3 recordings, 3 athletes" in saved.out
    assert tapeside("backup", tmp_path / "club.zip").code == 2
    tapeside("forget", "Mara", "--yes")

    restored = tapeside("restore", tmp_path / "club.zip")

    assert restored.code == 0 and "What was there before is in" in restored.out
    assert tapeside("people", "--json").out == before
    assert tapeside("restore", tmp_path / "none.zip").code == 2


def test_what_is_forgotten_can_be_added_again(tapeside, sheet: Path, talk: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)
    before = tapeside("log", "Mara").out
    tapeside("forget", "Mara", "--yes")
    assert tapeside("log", "Mara").code == 2

    assert ": kept;" in tapeside("add", talk, "--sheet", sheet).out
    assert tapeside("log", "Mara").out == before


def test_reading_again_finds_nothing_of_whom_was_forgotten(tapeside, sheet: Path, tmp_path: Path) -> None:
    both = sheet.read_text().replace("{name: Mara, aliases: [Mo], stance: orthodox}", "{name: Mara}, {name: Nora}")
    (tmp_path / "both.yaml").write_text(both)
    talk = tmp_path / "both.vtt"
    talk.write_text(
        "WEBVTT\n\n00:00:12.000 --> 00:00:15.000\nMara, your chin is up in the air.\n"
        "\n00:00:22.000 --> 00:00:25.000\nNora, you're leaning back.\n"
    )
    tapeside("add", talk, "--sheet", tmp_path / "both.yaml", "--first-reader-only")
    before = tapeside("log", "Nora", "--json").out
    tapeside("forget", "Mara", "--yes")

    tapeside("reread", "--yes", "--first-reader-only")

    assert tapeside("log", "Nora", "--json").out == before


def test_no_name_goes_to_a_log_of_the_program(tapeside, club, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.DEBUG):
        for words in (("people",), ("log", "Zoe"), ("search", "leaning back"), ("forget", "Zoe", "--yes")):
            tapeside(*words)

    assert "zoe" not in caplog.text.lower()
