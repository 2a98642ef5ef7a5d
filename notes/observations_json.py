"""Observations as JSON, schema tapeside/1: times in seconds, unknown ones null."""

from pathlib import Path, PurePath
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from notes.errors import TapesideError
from notes.model import Kind, Observation, Reading, Role
from notes.sheet import Sheet
from notes.times import to_seconds

SCHEMA = "tapeside/1"


def observation_json(o: Observation, *, timed: bool, verdict: str | None = None) -> dict[str, Any]:
    """One observation. `timed` False: the transcript has no times, so the spoken ones are unknown."""
    return {
        "id": o.id,
        "athlete": o.athlete,
        "role": o.role,
        "kind": o.kind,
        "techniques": list(o.techniques),
        "faults": list(o.faults),
        "fixes": list(o.fixes),
        "why": o.why,
        "unlisted": o.unlisted,
        "spoken": {
            "start": to_seconds(o.start_ms) if timed else None,
            "end": to_seconds(o.end_ms) if timed else None,
        },
        "footage": None if o.footage_ms is None else to_seconds(o.footage_ms),
        "round": o.round,
        "again": o.again,
        "quote": o.quote,
        "confidence": round(o.confidence, 2),
        "verdict": verdict,
    }


def reading_json(reading: Reading, sheet: Sheet) -> dict[str, Any]:
    """A whole reading."""
    return {
        "schema": SCHEMA,
        "recording": reading.recording,
        "sheet": sheet.as_json(),
        "observations": [observation_json(o, timed=reading.transcript.timed) for o in reading.observations],
        "perhaps": [observation_json(o, timed=reading.transcript.timed) for o in reading.perhaps],
    }


class _Span(BaseModel):
    start: float | None
    end: float | None


class ReadBack(BaseModel):
    """An observation as it stands in a file; keys that comparing needs no word of are not kept. Seconds."""

    model_config = ConfigDict(frozen=True)

    athlete: str
    role: Role
    kind: Kind
    techniques: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    fixes: tuple[str, ...] = ()
    spoken: _Span
    footage: float | None = None
    round: int | None = None
    quote: str = ""
    verdict: Literal["kept", "amended", "struck"] | None = None
    recording: str | None = None


class ReadingFile(BaseModel):
    """Observations as `extract` writes them (of one `recording`) or `export` does (each with its own)."""

    model_config = ConfigDict(frozen=True)

    schema_: Literal["tapeside/1"] = Field(alias="schema")
    recording: str | None = None
    observations: tuple[ReadBack, ...]

    @property
    def by_recording(self) -> dict[str, list[ReadBack]]:
        """Observations by the name of their recording, its ending left off."""
        found: dict[str, list[ReadBack]] = {PurePath(self.recording).stem: []} if self.recording else {}
        for o in self.observations:
            found.setdefault(PurePath(o.recording or self.recording or "").stem, []).append(o)
        return found


def read_reading_file(path: Path) -> ReadingFile:
    """The observations in a JSON file. Raises TapesideError naming the file and what is wrong in it."""
    try:
        return ReadingFile.model_validate_json(path.read_bytes())
    except OSError as error:
        raise TapesideError(f'Cannot read "{path}" ({error.strerror}); check the name') from None
    except ValidationError as error:
        fault = error.errors()[0]
        where = ".".join(map(str, fault["loc"])) or "the file"
        told = f"{where}: {fault['msg']}"
        raise TapesideError(
            f'"{path}" holds no reading in the form {SCHEMA} ({told}); write one with extract'
        ) from None
