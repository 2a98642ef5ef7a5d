"""The log as data: JSON by `tapeside-1.schema.json`, CSV and Parquet flat, a line an observation, with the same names.

Everything is written, struck observations and those of opponent and coach too; `verdict` and `role` tell them apart.
"""

import csv
import json
import os
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Any

from notes.archive.archive import Archive, KnownPerson
from notes.archive.recordings import Recording
from notes.archive.roster import roster
from notes.errors import TapesideError
from notes.observations_json import SCHEMA, observation_json
from notes.settings import NO_SPACE

COLUMNS = (
    "id", "recording", "recording_sha256", "date", "athlete", "junior", "role", "kind", "techniques", "faults", "fixes",
    "why", "unlisted", "spoken_start", "spoken_end", "footage", "round", "again", "quote", "confidence", "verdict",
)  # fmt: skip
_LISTS = ("techniques", "faults", "fixes")
_NUMBERS = {"spoken_start", "spoken_end", "footage", "confidence"}
_FLAGS = {"junior", "again"}

# A spreadsheet takes a cell that begins so for a formula, and runs it. Source: OWASP, "CSV Injection".
_FORMULA = re.compile(r"'*[=+\-@\t\r]")
_GROUP = 50_000


def check_ending(path: Path) -> None:
    """Raise TapesideError unless the log can be written under this name."""
    if path.suffix.lower() not in _WRITERS:
        raise TapesideError(f'"{path}" must end in {", ".join(_WRITERS)}; the ending chooses the form')


def write_export(archive: Archive, path: Path, athlete: KnownPerson | None = None) -> int:
    """Write the log, or one athlete's part of it, under a name that has its content wholly or not at all.

    Returns how many observations were written. Raises TapesideError.
    """
    check_ending(path)
    wanted = list(_observations(archive, athlete))
    spoken_in = {o["recording_sha256"] for o in wanted}
    recordings = [_about(r) for r in archive.recordings() if athlete is None or r.sha256 in spoken_in]
    with _whole(path) as unfinished:
        _WRITERS[path.suffix.lower()](unfinished, recordings, wanted)
    return len(wanted)


def spreadsheet_safe(text: str) -> str:
    """A text with `'` before what a spreadsheet would run; taking one `'` off again gives the text back.

    >>> spreadsheet_safe("=1+1"), spreadsheet_safe("'-x"), spreadsheet_safe("it's low")
    ("'=1+1", "''-x", "it's low")
    """
    return f"'{text}" if _FORMULA.match(text) else text


def _observations(archive: Archive, athlete: KnownPerson | None) -> Iterator[dict[str, Any]]:
    juniors = {member.person.name for member in roster(archive) if member.person.junior}
    for recording in archive.recordings():
        for kept in archive.observations_in(recording.sha256):
            o = kept.observation
            if athlete is None or (o.role == "athlete" and o.athlete == athlete.name):
                yield observation_json(o, timed=kept.timed, verdict=kept.verdict) | {
                    "recording": kept.recording,
                    "recording_sha256": kept.recording_sha256,
                    "date": kept.day.isoformat(),
                    "junior": o.role == "athlete" and o.athlete in juniors,
                }


def _about(r: Recording) -> dict[str, Any]:
    return {
        "recording": r.name,
        "sha256": r.sha256,
        "date": r.day.isoformat(),
        "footage": r.footage,
        "sheet": r.sheet.as_json(),
    }


def _flat(observation: dict[str, Any]) -> dict[str, Any]:
    spoken = observation["spoken"]
    row = observation | {"spoken_start": spoken["start"], "spoken_end": spoken["end"]}
    return {name: row[name] for name in COLUMNS}


def _write_json(path: Path, recordings: list[dict[str, Any]], observations: Iterable[dict[str, Any]]) -> None:
    document = {"schema": SCHEMA, "recordings": recordings, "observations": list(observations)}
    path.write_text(json.dumps(document, ensure_ascii=False, indent=1), encoding="utf-8")


def _write_csv(path: Path, recordings: list[dict[str, Any]], observations: Iterable[dict[str, Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out)
        writer.writerow(COLUMNS)
        writer.writerows([_cell(value) for value in _flat(o).values()] for o in observations)


def _cell(value: Any) -> str:
    if isinstance(value, list):
        return ";".join(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return spreadsheet_safe(value) if isinstance(value, str) else "" if value is None else str(value)


def _write_parquet(path: Path, recordings: list[dict[str, Any]], observations: Iterable[dict[str, Any]]) -> None:
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise TapesideError(
            "Parquet needs pyarrow, which is not installed; run: pip install 'tapeside[parquet]'"
        ) from None
    types = {"round": pa.int32(), "date": pa.date32()}
    types |= dict.fromkeys(_LISTS, pa.list_(pa.string())) | dict.fromkeys(_NUMBERS, pa.float64())
    types |= dict.fromkeys(_FLAGS, pa.bool_())
    schema = pa.schema([(name, types.get(name, pa.string())) for name in COLUMNS], metadata={"schema": SCHEMA})
    rows = (_flat(o) | {"date": date.fromisoformat(o["date"])} for o in observations)
    with pq.ParquetWriter(path, schema) as writer:
        while group := list(islice(rows, _GROUP)):
            writer.write_table(pa.Table.from_pylist(group, schema=schema))


@contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """A file beside `path`, for its owner only, that takes its name when it is written to its end."""
    unfinished = path.with_name(f"{path.name}.part")
    try:
        unfinished.unlink(missing_ok=True)
        os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        yield unfinished
        with unfinished.open("rb") as written:
            os.fsync(written.fileno())
        unfinished.replace(path)
    except OSError as error:
        reason = "the disk is full; free some space" if error.errno in NO_SPACE else error.strerror or str(error)
        raise TapesideError(f'Cannot write "{path}" ({reason})') from None
    finally:
        unfinished.unlink(missing_ok=True)


_WRITERS: dict[str, Callable[[Path, list[dict[str, Any]], Iterable[dict[str, Any]]], None]] = {
    ".json": _write_json,
    ".csv": _write_csv,
    ".parquet": _write_parquet,
}
