"""What a person decided, laid over what the machine read. Pure; no database.

A remark that somebody has spoken about is a thread of verdicts. The newest that is not undone stands, and what it says
is shown as the person left it, whatever a later reading makes of the same words. A reading only tells which of its
observations a thread stands for, so that the same remark is not logged twice.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from rapidfuzz import fuzz

from notes.model import UNLISTED, Observation

State = Literal["kept", "amended", "struck"]

# Other sentences of the same review are less like than 53 of 100 in 99 of 100 cases; with a third of its words dropped,
# replaced or misspelt, a sentence stays above 62 as often (2865 sentences of the corpus).
_LIKE_QUOTE = 58.0
# Said at another time, only nearly the same words are the same remark, and only so many ms away.
_SAME_QUOTE = 80.0
_NEAR_MS = 10_000


@dataclass(frozen=True, slots=True)
class Verdict:
    """One person's word on a remark. `seen` is the remark before it; `changes` are new values of its fields.

    `beside` holds the ids that stood in the same reading next to the remark: they are other remarks.
    """

    id: int
    thread: int
    added: bool
    state: State | Literal["undone"]
    seen: Observation
    changes: Mapping[str, Any]
    by: str
    at: str
    why: str | None = None
    beside: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Thread:
    """All verdicts on one remark, oldest first; never empty."""

    verdicts: tuple[Verdict, ...]

    @property
    def id(self) -> int:
        """The first verdict's id."""
        return self.verdicts[0].thread

    @property
    def anchor(self) -> Verdict:
        """The verdict that tells where the remark is."""
        return self.verdicts[-1]

    @property
    def standing(self) -> Verdict | None:
        """The newest verdict that is not undone."""
        stack: list[Verdict] = []
        for verdict in self.verdicts:
            if verdict.state != "undone":
                stack.append(verdict)
            elif stack:
                stack.pop()
        return stack[-1] if stack else None


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the log as it stands. `read_as` is the id of the newest reading's observation that it stands for."""

    observation: Observation
    verdict: State | None = None
    thread: int | None = None
    read_as: str | None = None


@dataclass
class _Claims:
    threads: dict[int, str] = field(default_factory=dict)
    observations: dict[str, Thread] = field(default_factory=dict)


def threads_of(verdicts: Iterable[Verdict]) -> tuple[Thread, ...]:
    """Verdicts gathered to threads, in order of their ids."""
    found: dict[int, list[Verdict]] = {}
    for verdict in sorted(verdicts, key=lambda v: v.id):
        found.setdefault(verdict.thread, []).append(verdict)
    return tuple(Thread(tuple(found[key])) for key in sorted(found))


def lay_over(
    logged: Sequence[Observation], perhaps: Sequence[Observation], threads: Iterable[Thread], *, timed: bool
) -> tuple[Entry, ...]:
    """The log of one recording: what was read, in spoken order, as people left it.

    A thread whose remark the reading does not hold stands for itself: a person's word is never dropped.
    """
    threads = tuple(threads)
    claims = _claim(threads, (*logged, *perhaps), timed=timed)
    sure = {o.id for o in logged}
    entries = []
    for observation in (*logged, *perhaps):
        thread = claims.observations.get(observation.id)
        if thread and (standing := thread.standing):
            entries.append(_entry(standing, observation.id))
        elif observation.id in sure:
            entries.append(Entry(observation, None, thread.id if thread else None, observation.id))
    for thread in threads:
        if thread.id not in claims.threads and (standing := thread.standing):
            entries.append(_entry(standing, None))
    return tuple(sorted(entries, key=lambda e: (e.observation.start_ms, e.observation.end_ms)))


def amended(seen: Observation, changes: Mapping[str, Any]) -> Observation:
    """An observation with a person's changes."""
    return consistent(replace(seen, **changes)) if changes else seen


def consistent(o: Observation) -> Observation:
    """Only a fault has faults, only faults and advice have fixes; a fault that no id names is `unlisted`, in the
    coach's words."""
    if o.kind != "fault":
        return replace(o, faults=(), unlisted=None, fixes=o.fixes if o.kind == "advice" else ())
    faults = o.faults or (UNLISTED,)
    return replace(o, faults=faults, unlisted=(o.unlisted or o.quote) if UNLISTED in faults else None)


def _entry(verdict: Verdict, read_as: str | None) -> Entry:
    assert verdict.state != "undone"
    return Entry(amended(verdict.seen, verdict.changes), verdict.state, verdict.thread, read_as)


def _claim(threads: Sequence[Thread], observations: Sequence[Observation], *, timed: bool) -> _Claims:
    """Which observation each thread stands for: one to one, likest first, those in force before the undone."""
    claims = _Claims()
    for group in ([t for t in threads if t.standing], [t for t in threads if not t.standing]):
        pairs = [
            (-like, thread.id, o.start_ms, o.id, thread)
            for thread in group
            for o in observations
            if (like := _stands_for(thread.standing or thread.anchor, o, timed=timed)) is not None
        ]
        for _, _, _, observation, thread in sorted(pairs, key=lambda pair: pair[:4]):
            if thread.id not in claims.threads and observation not in claims.observations:
                claims.threads[thread.id] = observation
                claims.observations[observation] = thread
    return claims


def _stands_for(verdict: Verdict, o: Observation, *, timed: bool) -> float | None:
    """How like the remark of a verdict an observation is, None where it is another one.

    The kind and the person must be as they were seen or as they were amended. An observation that stood beside the
    remark in the reading in which it was seen is another. An added note stands only for one that says the same.
    """
    if o.id in verdict.beside:
        return None
    seen, left = verdict.seen, amended(verdict.seen, verdict.changes)
    people, kinds = (seen.athlete, left.athlete), (seen.kind, left.kind)
    if o.athlete not in people or o.kind not in kinds or (verdict.added and not _shared(seen, o)):
        return None
    like = likeness(replace(seen, athlete=o.athlete, kind=o.kind), o, timed=timed)
    return None if like is None else like + _shared(left, o)


def likeness(a: Observation, b: Observation, *, timed: bool) -> float | None:
    """How like two observations of one recording are, None where they are not the same remark.

    The same person and kind; then overlap in time counts most, then likeness of the quote, then ids in common.
    Equal ids are likest.
    """
    if a.id == b.id:
        return 10.0
    if (a.athlete, a.kind) != (b.athlete, b.kind):
        return None
    if timed and _gap(a, b) > _NEAR_MS:
        return None
    ours, theirs = a.quote.lower(), b.quote.lower()
    # A shorter or longer cut of the same words is nearly as good as the same cut.
    quote = max(fuzz.ratio(ours, theirs), 0.9 * fuzz.partial_ratio(ours, theirs))
    overlap = _overlap(a, b) if timed else 0.0
    same = quote >= (_LIKE_QUOTE if overlap else _SAME_QUOTE)
    return 3 * overlap + 2 * quote / 100 + _shared(a, b) if same else None


def _overlap(a: Observation, b: Observation) -> float:
    """The common part of two spoken times over their whole; a moment counts as 1 ms."""
    ends = max(a.end_ms, a.start_ms + 1), max(b.end_ms, b.start_ms + 1)
    common = min(ends) - max(a.start_ms, b.start_ms)
    return max(0.0, common / (max(ends) - min(a.start_ms, b.start_ms)))


def _gap(a: Observation, b: Observation) -> int:
    return max(0, max(a.start_ms, b.start_ms) - min(a.end_ms, b.end_ms))


def _shared(a: Observation, b: Observation) -> float:
    """The ids in common over all: of faults where there are any, else of techniques."""
    ours, theirs = (set(o.faults or o.techniques) for o in (a, b))
    return len(ours & theirs) / len(ours | theirs) if ours | theirs else 1.0
