"""What a critique says: what went well, at most three things to work on, welfare on top. Pure functions of the log."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from lexicon import Entry, Lexicon
from lexicon.entries import Drill
from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.log import LogLine, fault_log
from notes.archive.people import KnownPerson
from notes.archive.progress import FaultProgress, Progress, progress
from notes.report.priorities import Priority, choose_priorities

MOST_STRENGTHS = 4
MOST_ADVICE = 2
# A quote of more letters than this gives way to a shorter one, if there is one.
LONG_QUOTE = 220
# And one of fewer words to one that says more.
SHORT_QUOTE = 8


@dataclass(frozen=True, slots=True)
class Strength:
    """Something that was praised, with the praise that tells most."""

    technique: str | None
    quote: Kept
    notes: tuple[Kept, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to work on. `why` is the coach's reason, or the lexicon's where the coach gave none."""

    key: str
    entry: Entry | None
    technique: str | None
    quote: Kept
    notes: tuple[Kept, ...]
    earlier: tuple[date, ...]
    why: str | None
    coach_said_why: bool
    fix: Entry | None
    drill: Drill | None


@dataclass(frozen=True, slots=True)
class Improvement:
    """A fault that comes less often than before, by more than chance (`notes.archive.progress`)."""

    key: str
    progress: FaultProgress
    notes: tuple[Kept, ...]


@dataclass(frozen=True, slots=True)
class Critique:
    """What is said to an athlete about the sessions of `days`; whatever form it takes, it says this."""

    athlete: KnownPerson
    days: tuple[date, ...]
    welfare: tuple[Kept, ...]
    strengths: tuple[Strength, ...]
    points: tuple[Point, ...]
    advice: tuple[Kept, ...]
    improved: tuple[Improvement, ...]
    progress: Progress
    watched: Exposure


def make_critique(
    athlete: KnownPerson,
    notes: Sequence[Kept],
    watched: Exposure,
    lexicon: Lexicon,
    first: date | None = None,
    last: date | None = None,
) -> Critique:
    """Choose what to say of the days `first` to `last` (open where None); notes before them are the past.

    `watched` is what was watched up to `last`. That something improved is said only where it is more than chance.
    """
    span = [k for k in notes if (first is None or k.day >= first) and (last is None or k.day <= last)]
    earlier = [k for k in notes if first is not None and k.day < first]
    welfare = tuple(k for k in span if k.observation.kind == "welfare")
    days = sorted({k.day for k in span})
    lines = fault_log([k for k in span if k.observation.kind == "strength"])
    points = choose_priorities(span, earlier, lexicon)
    until = [k for k in notes if last is None or k.day <= last]
    shown = progress(until, watched)
    gentle = athlete.junior or bool(welfare)
    return Critique(
        athlete=athlete,
        days=tuple(days),
        welfare=welfare,
        strengths=_strengths(lines, lexicon),
        points=tuple(_point(priority, gentle=gentle) for priority in points),
        advice=tuple(
            sorted((k for k in span if k.observation.kind == "advice"), key=_worth, reverse=True)[:MOST_ADVICE]
        ),
        improved=_improved(until, shown),
        progress=shown,
        watched=watched,
    )


def drill_for(fix: Entry | None, *, gentle: bool) -> Drill | None:
    """The first drill of a fix; where `gentle`, the first without contact."""
    return next((d for d in fix.drills if not (gentle and d.contact)), None) if fix else None


def best_quote(notes: Sequence[Kept]) -> Kept:
    """The note whose words tell most: sure, with a fix and a reason, and not too long; of equals the newest."""
    return max(notes, key=_worth)


def _worth(kept: Kept) -> tuple[bool, bool, int, float, date]:
    o = kept.observation
    readable = len(o.quote) <= LONG_QUOTE and len(o.quote.split()) >= SHORT_QUOTE
    return (o.confidence >= 0.6, readable, bool(o.fixes) + bool(o.why), o.confidence, kept.day)


def _strengths(lines: Sequence[LogLine], lexicon: Lexicon) -> tuple[Strength, ...]:
    named = [
        Strength(line.key if line.key in lexicon.entries else None, best_quote(line.notes), line.notes)
        for line in lines
    ]
    return tuple(sorted(named, key=lambda s: s.technique is None)[:MOST_STRENGTHS])


def _improved(notes: list[Kept], shown: Progress) -> tuple[Improvement, ...]:
    lines = {line.key: line.notes for line in fault_log(notes)}
    return tuple(Improvement(f.fault, f, lines[f.fault]) for f in shown.faults if f.verdict == "less often")


def _point(priority: Priority, *, gentle: bool) -> Point:
    line = priority.line
    reasons = [k for k in line.notes if k.observation.why]
    reason = best_quote(reasons).observation.why if reasons else None
    return Point(
        key=line.key,
        entry=priority.entry,
        technique=line.techniques[0] if line.techniques else None,
        quote=best_quote(line.notes),
        notes=line.notes,
        earlier=priority.earlier,
        why=reason or (priority.entry.why if priority.entry else None),
        coach_said_why=reason is not None,
        fix=priority.fix,
        drill=drill_for(priority.fix, gentle=gentle),
    )
