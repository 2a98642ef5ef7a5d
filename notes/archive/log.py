"""The fault log: each fault of an athlete with how often, how lately, and which way it goes."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from notes.archive.archive import Kept
from notes.model import UNLISTED, Kind

Standing = Literal["standing", "easing", "quiet", "back"]


@dataclass(frozen=True, slots=True)
class LogLine:
    """One fault, strength, piece of advice or welfare sign over all sessions. `key` is its id, or the kind alone."""

    key: str
    kind: Kind
    times: int
    sessions: int
    last_seen: date
    standing: Standing | None
    best_quote: str
    techniques: tuple[str, ...]
    fixes: tuple[str, ...]
    notes: tuple[Kept, ...]


def fault_log(notes: list[Kept], days: list[date]) -> list[LogLine]:
    """Lines over an athlete's notes (oldest first) and the days on which they were reviewed.

    Faults first, the most often seen first. Unlisted faults stand each for itself.
    """
    groups: dict[tuple[Kind, str], list[Kept]] = {}
    for kept in notes:
        for key in _keys(kept):
            groups.setdefault((kept.observation.kind, key), []).append(kept)
    lines = [_line(kind, key, group, days) for (kind, key), group in groups.items()]
    order = ("fault", "strength", "advice", "welfare")
    return sorted(lines, key=lambda line: (order.index(line.kind), -line.times, -line.last_seen.toordinal(), line.key))


def standing(seen: list[date], days: list[date]) -> Standing:
    """Which way a fault goes, from the days it was seen (one entry each time) and all days reviewed.

    quiet: not seen in the two newest sessions. back: seen in the newest after being quiet before it. easing: seen less
    in the newest session than half its average in those before, or not at all. standing: otherwise.
    """
    counts = [sum(day == s for s in seen) for day in days]
    newest, before = counts[-1], counts[:-1]
    if not newest:
        return "quiet" if len(before) >= 2 and not before[-1] else "easing"
    if len(before) >= 3 and not any(before[-2:]) and any(before):
        return "back"
    if before and newest < sum(before) / len(before) / 2:
        return "easing"
    return "standing"


def _keys(kept: Kept) -> list[str]:
    o = kept.observation
    if o.kind == "fault":
        return [f"{UNLISTED}: {o.unlisted}" if fault == UNLISTED else fault for fault in o.faults]
    return list(o.techniques[:1]) or [o.kind]


def _line(kind: Kind, key: str, notes: list[Kept], days: list[date]) -> LogLine:
    seen = [kept.day for kept in notes]
    best = max(notes, key=lambda k: (k.observation.confidence, bool(k.observation.why), k.day))
    return LogLine(
        key=key,
        kind=kind,
        times=len(notes),
        sessions=len(set(seen)),
        last_seen=max(seen),
        standing=standing(seen, days) if kind == "fault" else None,
        best_quote=best.observation.quote,
        techniques=_most(t for k in notes for t in k.observation.techniques),
        fixes=_most(f for k in notes for f in k.observation.fixes),
        notes=tuple(notes),
    )


def _most(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(i for i, _ in Counter(ids).most_common())
