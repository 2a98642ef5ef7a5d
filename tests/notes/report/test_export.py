"""The log as data: what is written is read back by other libraries."""

import csv
import json
import re
import stat
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import jsonschema
import pyarrow.parquet as pq
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reviews import sheet
from test_archive import add

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.errors import TapesideError
from notes.report.export import COLUMNS, spreadsheet_safe, write_export

SCHEMA = json.loads((files("notes.report") / "tapeside-1.schema.json").read_text())
VALID = jsonschema.Draft202012Validator(SCHEMA, format_checker=jsonschema.FormatChecker())


@pytest.fixture
def club(home: Path, vocabulary: Lexicon) -> Archive:
    """Two sessions: a junior's, and one with a remark that looks like a formula."""
    archive = Archive(home)
    juniors = sheet(athletes=[{"name": "Zoë", "junior": True}])
    add(archive, vocabulary, "one", "Your chin is in the air; get it down.", "Lovely long teep.", facts=juniors)
    add(archive, vocabulary, "two", "-You're leaning back, “again”, and Devon, he scores.", "Devon is leaning back.")
    archive.db.execute("UPDATE entry SET verdict = 'struck' WHERE recording = 'two' AND role = 'athlete'")
    return archive


def as_json(club: Archive, folder: Path) -> dict[str, Any]:
    write_export(club, folder / "club.json")
    data: dict[str, Any] = json.loads((folder / "club.json").read_text(encoding="utf-8"))
    return data


def test_the_json_keeps_to_its_schema_and_holds_everything(club: Archive, tmp_path: Path) -> None:
    data = as_json(club, tmp_path)

    VALID.validate(data)
    kept = [k for r in club.recordings() for k in club.observations_in(r.sha256)]
    assert [o["id"] for o in data["observations"]] == [k.observation.id for k in kept]
    assert {o["role"] for o in data["observations"]} == {"athlete", "opponent"}
    assert [r["sheet"]["athletes"][0]["name"] for r in data["recordings"]] == ["Zoë", "Mara"]
    assert {o["athlete"]: (o["junior"], o["verdict"]) for o in data["observations"] if o["role"] == "athlete"} == {
        "Zoë": (True, None),
        "Mara": (False, "struck"),
    }


def test_the_schema_would_notice(club: Archive, tmp_path: Path) -> None:
    data = as_json(club, tmp_path)

    for key, value in {"verdict": "gone", "confidence": 2, "footage": "0:10", "kind": "habit"}.items():
        wrong = data | {"observations": [data["observations"][0] | {key: value}]}
        assert not VALID.is_valid(wrong), key


def test_csv_holds_the_same_as_json(club: Archive, tmp_path: Path) -> None:
    write_export(club, tmp_path / "club.csv")

    with (tmp_path / "club.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))

    assert tuple(rows[0]) == COLUMNS
    assert [read_back(row) for row in rows] == [flat(o) for o in as_json(club, tmp_path)["observations"]]
    assert any(row["quote"].startswith("'-You're leaning back, “again”") for row in rows)


def test_parquet_holds_the_same_as_json(club: Archive, tmp_path: Path) -> None:
    write_export(club, tmp_path / "club.parquet")

    table = pq.read_table(tmp_path / "club.parquet")

    assert tuple(table.column_names) == COLUMNS
    rows = [row | {"date": row["date"].isoformat()} for row in table.to_pylist()]
    assert rows == [flat(o) for o in as_json(club, tmp_path)["observations"]]


def test_one_athletes_part_holds_nothing_of_others(club: Archive, tmp_path: Path) -> None:
    assert write_export(club, tmp_path / "zoe.json", club.athlete("zoë")) == 2

    data = json.loads((tmp_path / "zoe.json").read_text())
    VALID.validate(data)
    assert {o["athlete"] for o in data["observations"]} == {"Zoë"}
    assert [r["sha256"] for r in data["recordings"]] == ["one"]


def test_an_empty_log_is_written_too(home: Path, tmp_path: Path) -> None:
    with Archive(home) as archive:
        for ending in ("json", "csv", "parquet"):
            assert write_export(archive, tmp_path / f"none.{ending}") == 0

    assert pq.read_table(tmp_path / "none.parquet").num_rows == 0
    VALID.validate(json.loads((tmp_path / "none.json").read_text()))


def test_a_failure_leaves_what_was_there(club: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "club.csv").write_text("the last one")

    def fail(*_: object) -> str:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("notes.report.export._cell", fail)
    with pytest.raises(TapesideError, match="disk is full"):
        write_export(club, tmp_path / "club.csv")

    assert (tmp_path / "club.csv").read_text() == "the last one"
    assert not list(tmp_path.glob("*.part"))


def test_the_file_is_for_its_owner_only_and_its_name_is_checked(club: Archive, tmp_path: Path) -> None:
    write_export(club, tmp_path / "club.csv")
    assert stat.S_IMODE((tmp_path / "club.csv").stat().st_mode) == 0o600

    with pytest.raises(TapesideError, match=r"must end in \.json, \.csv, \.parquet"):
        write_export(club, tmp_path / "club.xlsx")
    with pytest.raises(TapesideError, match="Cannot write"):
        write_export(club, tmp_path / "none" / "club.csv")


def test_without_pyarrow_the_way_to_it_is_told(club: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)

    with pytest.raises(TapesideError, match=re.escape("pip install 'tapeside[parquet]'")):
        write_export(club, tmp_path / "club.parquet")
    assert not (tmp_path / "club.parquet").exists()


@given(st.text(alphabet="=+-@\t\r'ab \"") | st.text())
def test_no_cell_is_a_formula_and_every_text_comes_back(text: str) -> None:
    cell = spreadsheet_safe(text)

    assert cell[:1] not in ("=", "+", "-", "@", "\t", "\r") or cell == ""
    assert unsafe(cell) == text


def unsafe(cell: str) -> str:
    """The rule that README gives to programs that read the CSV."""
    return cell[1:] if re.match(r"'+[=+\-@\t\r]", cell) else cell


def flat(o: dict[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in o.items() if k != "spoken"} | {
        "spoken_start": o["spoken"]["start"],
        "spoken_end": o["spoken"]["end"],
    }


def read_back(row: dict[str, str]) -> dict[str, Any]:
    kinds: dict[str, Any] = dict.fromkeys(("spoken_start", "spoken_end", "footage", "confidence"), float)
    kinds |= dict.fromkeys(("techniques", "faults", "fixes"), lambda cell: cell.split(";"))
    kinds |= dict.fromkeys(("junior", "again"), lambda cell: cell == "true") | {"round": int}
    empty = {"techniques": [], "faults": [], "fixes": []}
    return {name: kinds.get(name, unsafe)(cell) if cell else empty.get(name) for name, cell in row.items()}
