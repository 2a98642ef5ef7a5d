"""The fault log: each fault of an athlete with how often, in how much watching, how lately, and which way it goes."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Literal

from notes.archive.entries import Kept
from notes.archive.exposure import NOTHING_KNOWN, Exposure, Unit
from notes.archive.moments import Moment, moments_of
from notes.archive.unlisted import groups_alike
from notes.model import UNLISTED, Kind

Standing = Literal["standing", "easing", "quiet", "back"]

# How much of the newest watching a standing looks at: less than two sessions of three rounds; rounds of three minutes
# (common practice, no source).
RECENT: dict[Unit, float] = {"round": 5.0, "minute": 15.0}


@dataclass(frozen=True, slots=True)
class Since:
    """What followed on the days after one: how often the fault was seen, how often its techniques were praised, and how
    much was watched, in the exposure's unit."""

    seen: int
    praised: int
    watched: float


@dataclass(frozen=True, slots=True)
class FollowThrough:
    """A fix that was given for a fault, its days, and what was seen since the first and since the last of them."""

    fix: str
    given: tuple[date, ...]
    since_first: Since
    since_last: Since


@dataclass(frozen=True, slots=True)
class LogLine:
    """One fault, strength, piece of advice or welfare sign over all sessions.

    `notes` tell of `moments`, and moments are what is counted: `times`, `sessions`, standing and all that follows.
    `key` is its id, "unlisted: " with the coach's words, or the kind alone. `why` is the consequence that the coach
    named. `watched_since` is what was watched on days after it was last seen.
    """

    key: str
    kind: Kind
    times: int
    sessions: int
    last_seen: date
    watched_since: float
    standing: Standing | None
    best_quote: str
    why: str | None
    techniques: tuple[str, ...]
    fixes: tuple[str, ...]
    follow_through: tuple[FollowThrough, ...]
    notes: tuple[Kept, ...]
    moments: tuple[Moment, ...]


def fault_log(notes: list[Kept], watched: Exposure = NOTHING_KNOWN) -> list[LogLine]:
    """Lines over an athlete's notes (oldest first) and what was watched of them.

    Faults first, the most often seen first. Unlisted faults whose words are alike are one line.
    """
    lines = [_line(kind, key, group, notes, watched) for (kind, key), group in grouped(notes).items()]
    order = ("fault", "strength", "advice", "welfare")
    return sorted(lines, key=lambda line: (order.index(line.kind), -line.times, -line.last_seen.toordinal(), line.key))


def grouped(notes: Iterable[Kept]) -> dict[tuple[Kind, str], list[Kept]]:
    """Notes by kind and key; one with two faults stands under both."""
    groups: dict[tuple[Kind, str], list[Kept]] = {}
    unlisted: list[Kept] = []
    for kept in notes:
        for key in _keys(kept):
            if key == UNLISTED:
                unlisted.append(kept)
            else:
                groups.setdefault((kept.observation.kind, key), []).append(kept)
    for places in groups_alike([kept.observation.unlisted or kept.observation.quote for kept in unlisted]):
        group = [unlisted[place] for place in places]
        words = group[0].observation.unlisted or group[0].observation.quote
        groups["fault", f"{UNLISTED}: {words}"] = group
    return groups


def standing(counts: Sequence[int], amounts: Sequence[float], recent: float) -> Standing | None:
    """Which way a fault goes, from how often it was seen each day and how much was watched that day, oldest first.

    The newest days that together hold `recent` of watching are looked at against all before. quiet: not seen in them.
    back: seen in them after as much watching without it. easing: seen in them at half the earlier rate or less.
    standing: otherwise, and wherever too little was watched to tell. None: never seen in watching of known amount.
    """
    if not any(counts):
        return None
    cut = len(amounts)
    while cut and sum(amounts[cut:]) < recent:
        cut -= 1
    if not cut:
        return "standing"
    if not any(counts[cut:]):
        return "quiet"
    seen = [day for day, count in enumerate(counts) if count]
    if any(day >= cut and sum(amounts[last + 1 : day]) >= recent for last, day in pairwise(seen)):
        return "back"
    earlier = sum(amounts[:cut])
    if earlier and sum(counts[cut:]) / sum(amounts[cut:]) <= sum(counts[:cut]) / earlier / 2:
        return "easing"
    return "standing"


def _keys(kept: Kept) -> tuple[str, ...]:
    o = kept.observation
    return o.faults if o.kind == "fault" else o.techniques[:1] or (o.kind,)


def _line(kind: Kind, key: str, group: list[Kept], notes: list[Kept], watched: Exposure) -> LogLine:
    moments = moments_of(group)
    seen = [moment[0].seen_on for moment in moments]
    told = [kept for kept in group if kept.observation.why]
    techniques = _most(t for kept in group for t in kept.observation.techniques)
    fixes = _most(f for kept in group for f in kept.observation.fixes)
    return LogLine(
        key=key,
        kind=kind,
        times=len(moments),
        sessions=len(set(seen)),
        last_seen=max(seen),
        watched_since=watched.after(max(seen)),
        standing=standing(watched.counts(group), watched.amounts, RECENT[watched.unit]) if kind == "fault" else None,
        best_quote=_best(group).observation.quote,
        why=_best(told).observation.why if told else None,
        techniques=techniques,
        fixes=fixes,
        follow_through=_follow_through(group, seen, fixes, techniques, notes, watched) if kind == "fault" else (),
        notes=tuple(group),
        moments=tuple(moments),
    )


def _follow_through(
    group: list[Kept],
    seen: Sequence[date],
    fixes: Iterable[str],
    techniques: Sequence[str],
    notes: list[Kept],
    watched: Exposure,
) -> tuple[FollowThrough, ...]:
    """Of each fix: a day it was given is one on which the fault, or advice, named it."""
    advice = [kept for kept in notes if kept.observation.kind == "advice"]
    strengths = [kept for kept in notes if kept.observation.kind == "strength"]
    on_them = [kept for kept in strengths if not set(techniques).isdisjoint(kept.observation.techniques)]
    praised = [moment[0].seen_on for praise in grouped(on_them).values() for moment in moments_of(praise)]

    def since(day: date) -> Since:
        return Since(sum(d > day for d in seen), sum(d > day for d in praised), watched.after(day))

    found = []
    for fix in fixes:
        given = tuple(sorted({kept.seen_on for kept in (*group, *advice) if fix in kept.observation.fixes}))
        found.append(FollowThrough(fix, given, since(given[0]), since(given[-1])))
    return tuple(found)


def _best(notes: list[Kept]) -> Kept:
    return max(notes, key=lambda k: (k.observation.confidence, bool(k.observation.why), k.day))


def _most(ids: Iterable[str]) -> tuple[str, ...]:
    return tuple(i for i, _ in Counter(ids).most_common())
