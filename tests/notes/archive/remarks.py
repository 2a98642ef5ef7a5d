"""Remarks for tests of the log."""

from typing import Any

from notes.model import Observation

SAYINGS = [
    "Your head stays on the tramlines when you throw the right hand.",
    "That jab goes out fine but it comes home by your hip.",
    "You walked out of the exchange with both hands down.",
    "There is nothing in front of that low kick at all.",
    "Lovely long push kick to keep her at the end of it.",
    "Your chin is up in the air every time he feints.",
    "You are square again after the left hook lands.",
    "Good check, and the foot goes straight back down.",
]


def note(quote: str, start_ms: int = 0, **changes: Any) -> Observation:
    values: dict[str, Any] = {
        "athlete": "Mara", "role": "athlete", "kind": "fault", "techniques": (), "faults": ("chin-up",), "fixes": (),
        "why": None, "unlisted": None, "start_ms": start_ms, "end_ms": start_ms + 4_000, "footage_ms": None,
        "round": None, "again": False, "quote": quote, "confidence": 0.9,
    }  # fmt: skip
    return Observation(**values | changes).with_id("recording")
