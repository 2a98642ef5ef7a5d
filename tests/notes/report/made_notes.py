"""Logs made on the spot: notes of one athlete, without speech or database."""

from datetime import date, timedelta
from typing import Any

from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.people import KnownPerson
from notes.model import Observation

FIRST_DAY = date(2031, 3, 1)
MARA = KnownPerson(1, "Mara", "orthodox", junior=False)
NIA = KnownPerson(2, "Nia", "orthodox", junior=True)


def note(key: str, *, session: int = 0, at_s: int | None = 30, **more: Any) -> Kept:
    """One note: a fault id, or "strength:jab", "welfare:", "advice:"; other fields of the observation as given."""
    kind, _, rest = key.rpartition(":")
    values: dict[str, Any] = {
        "athlete": "Mara", "role": "athlete", "kind": kind or "fault", "faults": () if kind else (rest,),
        "techniques": (rest,) if kind and rest else (), "fixes": (), "why": None, "unlisted": None,
        "start_ms": 1_000 * (at_s or 0), "end_ms": 1_000 * (at_s or 0) + 3_000,
        "footage_ms": None if at_s is None else 1_000 * at_s, "round": 1, "again": False,
        "quote": f"This is what was said of {rest or kind} there.", "confidence": 0.9,
    }  # fmt: skip
    day = FIRST_DAY + timedelta(days=7 * session)
    made = Observation(**(values | more)).with_id(f"recording {session}")
    return Kept(made, f"{session}.vtt", f"recording {session}", day, timed=True)


def watched(sessions: int, rounds: float = 3.0) -> Exposure:
    """So many sessions of so many rounds each."""
    days = tuple(FIRST_DAY + timedelta(days=7 * s) for s in range(sessions))
    recordings = frozenset(f"recording {s}" for s in range(sessions))
    return Exposure("round", days, (rounds,) * sessions, recordings, 0, 0)
