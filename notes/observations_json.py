"""Observations as JSON, schema tapeside/1: times in seconds, unknown ones null."""

from typing import Any

from notes.model import Observation, Reading
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
