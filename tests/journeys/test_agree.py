"""`tapeside agree`: two readings of one recording, and a log that people have judged."""

import json
from pathlib import Path

import pytest


@pytest.fixture
def readings(tapeside, sheet: Path, talk: Path, tmp_path: Path) -> tuple[Path, Path]:
    """What the program read, and the same with one note struck and one fault named otherwise."""
    one, other = tmp_path / "imre.json", tmp_path / "vera.json"
    tapeside("extract", talk, "--sheet", sheet, "--out", one)
    data = json.loads(one.read_text())
    data["observations"][0]["faults"] = ["chin-up"]
    data["observations"][-1]["verdict"] = "struck"
    other.write_text(json.dumps(data))
    return one, other


def test_two_readings_are_compared_and_their_differences_shown(tapeside, readings) -> None:
    done = tapeside("agree", *readings)

    assert done.code == 0
    assert "3 notes in imre.json, 2 in vera.json" in done.out
    assert "detection F1 0.80" in done.out
    assert "head-on-centreline" in done.out and "chin-up" in done.out


def test_agreement_as_json(tapeside, readings) -> None:
    data = json.loads(tapeside("agree", *readings, "--json").out)

    assert (data["recording"], data["notes"], data["paired"]) == ("review", [3, 2], 2)
    assert data["detection_f1"]["value"] == pytest.approx(0.8)
    assert data["kind_of_stretches"]["seconds"] == 10
    assert [bool(a) and bool(b) for a, b in data["differences"]] == [True, False]


def test_an_export_of_many_recordings_is_compared_by_the_one_they_share(tapeside, readings, tmp_path: Path) -> None:
    one, _ = readings
    data = json.loads(one.read_text())
    mine = [o | {"recording": "review.m4a"} for o in data["observations"]]
    others = [o | {"recording": "another.vtt"} for o in data["observations"]]
    export = tmp_path / "export.json"
    export.write_text(json.dumps({"schema": "tapeside/1", "recordings": [], "observations": mine + others}))

    assert json.loads(tapeside("agree", one, export, "--json").out)["detection_f1"]["value"] == 1


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"recording": "another.vtt"}, "share no recording"),
        ({"schema": "other/1"}, "schema"),
        ({"observations": [{"athlete": "Mara"}]}, "observations.0.role"),
    ],
)
def test_what_cannot_be_compared_is_refused(tapeside, readings, change: dict[str, object], told: str) -> None:
    one, other = readings
    other.write_text(json.dumps(json.loads(other.read_text()) | change))

    done = tapeside("agree", one, other)

    assert done.code == 2 and told in done.err


def test_one_file_a_missing_file_and_no_json_are_refused(tapeside, readings, talk: Path, tmp_path: Path) -> None:
    one, _ = readings

    assert tapeside("agree", one).code == 2
    assert tapeside("agree", one, tmp_path / "none.json").code == 2
    assert tapeside("agree", one, talk).code == 2


def test_notes_without_times_are_refused(tapeside, sheet: Path, tmp_path: Path) -> None:
    text, out = tmp_path / "talk.txt", tmp_path / "talk.json"
    text.write_text("You kicked with nothing in front of it, that low kick.")
    tapeside("extract", text, "--sheet", sheet, "--out", out)

    done = tapeside("agree", out, out)

    assert done.code == 2 and "without spoken times" in done.err


def test_a_log_that_nobody_judged_says_so(tapeside, sheet: Path, talk: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)

    assert tapeside("agree").code == 1


def test_what_a_person_let_stand_is_told_by_month(tapeside, sheet: Path, talk: Path) -> None:
    tapeside("add", talk, "--sheet", sheet)
    lines = json.loads(tapeside("log", "Mara", "--json").out)["lines"]
    ids = [line["observations"][0]["id"] for line in lines]
    tapeside("correct", ids[0], "kept")
    tapeside("correct", ids[1], "struck")
    tapeside("correct", ids[2], "amended", "round=1")

    (month,) = json.loads(tapeside("agree", "--json").out)["months"]
    told = tapeside("agree").out

    assert (month["month"], month["kept"], month["struck"], month["amended"]) == ("2031-03", 1, 1, 1)
    assert month["share"] == pytest.approx(2 / 3)
    assert "67% (9% to 99%) of    3: 1 kept, 1 amended, 1 struck" in told
