"""Notes and watching made on the spot, as they come out of the log."""

from datetime import date, timedelta

from notes.archive.archive import Kept
from notes.archive.exposure import Exposure
from notes.model import Observation

FIRST = date(2031, 1, 7)


def day(number: int) -> date:
    """The day of a session, a week apart, counted from 0."""
    return FIRST + timedelta(days=7 * number)


def note(at: int, fault: str = "chin-up", **changes: object) -> Kept:
    """A fault noted in session `at`; other fields as given."""
    values = {
        "athlete": "Mara", "role": "athlete", "kind": "fault", "techniques": ("cross",), "faults": (fault,),
        "fixes": (), "why": None, "unlisted": None, "start_ms": 0, "end_ms": 1_000, "footage_ms": None, "round": None,
        "again": False, "quote": "Chin up.", "confidence": 0.9,
    } | changes  # fmt: skip
    return Kept(Observation(**values), f"{at}.vtt", f"sha-{at}", day(at), timed=True)  # type: ignore[arg-type]


def faults(counts: list[int], fault: str = "chin-up") -> list[Kept]:
    """So many notes of a fault in each session."""
    return [note(at, fault) for at, count in enumerate(counts) for _ in range(count)]


def watched(amounts: list[float], unit: str = "round") -> Exposure:
    """So much watched in each session."""
    days = tuple(day(at) for at in range(len(amounts)))
    known = frozenset(f"sha-{at}" for at, amount in enumerate(amounts) if amount)
    return Exposure(unit, days, tuple(amounts), known, len(amounts) - len(known), 0)  # type: ignore[arg-type]
