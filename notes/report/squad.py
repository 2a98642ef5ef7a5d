"""What the athletes of a club share: faults of several, pairs who could help each other, one session for all.

A sheet for the wall: initials unless names are asked for, no quotes, no welfare notes, and no counts of one athlete.
"""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from lexicon import Entry, Lexicon
from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.log import LogLine, fault_log
from notes.archive.people import KnownPerson
from notes.counting import many
from notes.model import UNLISTED
from notes.report.document import Block, Bullets, Document, Section, Table, heading, paragraph, run
from notes.report.letter import drill_line
from notes.report.plan import recent_welfare
from notes.report.wording import capital, days, listed, name_of, times

MOST_THEMES = 3
MOST_SHARED = 10
MOST_PAIRS = 6
# Below this many notes a number says little: an exact 95 % interval of 4 notes reaches from 1 to 10 (Garwood 1936).
SMALL = 5
STANDING = (None, "standing", "back")


@dataclass(frozen=True, slots=True)
class Member:
    """One athlete's log in the span."""

    person: KnownPerson
    days: tuple[date, ...]
    lines: tuple[LogLine, ...]
    watched: Exposure
    rested: bool

    def standing(self) -> dict[str, LogLine]:
        """Faults of the lexicon that stand, by id."""
        return {
            line.key: line
            for line in self.lines
            if line.kind == "fault" and line.standing in STANDING and not line.key.startswith(UNLISTED)
        }

    def strengths(self) -> dict[str, LogLine]:
        """Praise by technique."""
        return {line.key: line for line in self.lines if line.kind == "strength" and line.key != "strength"}


@dataclass(frozen=True, slots=True)
class SharedFault:
    """A fault that stands with two athletes or more."""

    fault: str
    members: tuple[Member, ...]
    times: int
    fix: Entry | None


@dataclass(frozen=True, slots=True)
class Pair:
    """`helper` was praised on the technique with which `learner` has a standing fault."""

    helper: Member
    learner: Member
    technique: str
    fault: str
    both_ways: bool


@dataclass(frozen=True, slots=True)
class Squad:
    """The club over the days of a span."""

    members: tuple[Member, ...]
    days: tuple[date, ...]
    shared: tuple[SharedFault, ...]
    pairs: tuple[Pair, ...]


def member(person: KnownPerson, notes: Sequence[Kept], watched: Exposure, days_: Sequence[date]) -> Member:
    """One athlete's part of the squad. Who may be hurt is paired with nobody; the sheet does not say why."""
    return Member(person, tuple(days_), tuple(fault_log(list(notes), watched)), watched, bool(recent_welfare(notes)))


def make_squad(members: Sequence[Member], lexicon: Lexicon) -> Squad:
    """Faults that most athletes share first; pairs that help both ways first."""
    standing = {id(m): m.standing() for m in members}
    shared = []
    for fault in sorted({fault for faults in standing.values() for fault in faults}):
        with_it = tuple(m for m in members if fault in standing[id(m)])
        if len(with_it) > 1:
            fixes = lexicon.entries[fault].fixes if fault in lexicon.entries else ()
            count = sum(standing[id(m)][fault].times for m in with_it)
            shared.append(SharedFault(fault, with_it, count, lexicon.entries[fixes[0]] if fixes else None))
    shared.sort(key=lambda s: (-len(s.members), -s.times, s.fault))
    seen_on = sorted({day for m in members for day in m.days})
    return Squad(tuple(members), tuple(seen_on), tuple(shared), _pairs(members))


def initials(names: Sequence[str]) -> dict[str, str]:
    """Initials that tell the names apart: "AB", and "M1", "M2" where two would be alike.

    >>> initials(["Anna Berg", "Mara", "Mo"])
    {'Anna Berg': 'AB', 'Mara': 'M1', 'Mo': 'M2'}
    """
    plain = {name: "".join(_first_sign(word) for word in name.split()[:3]) or "?" for name in names}
    shown: dict[str, str] = {}
    for name in names:
        alike = [other for other in names if plain[other] == plain[name]]
        number = alike.index(name) + 1
        label = plain[name] if len(alike) == 1 else f"{plain[name]}{number}"
        while label in shown.values() or (label != plain[name] and label in plain.values()):
            number += len(alike)
            label = f"{plain[name]}{number}"
        shown[name] = label
    return shown


def squad_document(squad: Squad, lexicon: Lexicon, *, names: bool) -> Document:
    """The sheet for the wall."""
    everyone = [m.person.name for m in squad.members]
    shown = {name: name for name in everyone} if names else initials(everyone)
    span = days(squad.days[:: max(1, len(squad.days) - 1)][:2])
    opening = (
        heading(1, f"The squad: {span}"),
        paragraph(f"{many(len(squad.members), 'athlete')}: {listed(list(shown.values()))}. {_watched(squad)}"),
    )
    sections = [
        Section("opening", opening),
        Section("shared", (heading(2, "What several share"), *_shared(squad, lexicon, shown))),
        Section("pairs", (heading(2, "Who could help whom"), *_pairs_told(squad, lexicon, shown))),
    ]
    if squad.shared:
        sections.append(Section("session", (heading(2, "A session for all"), Bullets(_session(squad)))))
    sections.append(Section("care", (paragraph(_CARE),), look="small"))
    return Document(f"The squad: {span}", f"squad sheet, {span}", tuple(sections))


def squad_json(squad: Squad) -> dict[str, Any]:
    """The squad for scripts, with names."""
    return {
        "days": [on.isoformat() for on in squad.days],
        "athletes": [
            {
                "name": m.person.name,
                "sessions": len(m.days),
                "unit": m.watched.unit,
                "watched": round(m.watched.total, 3),
            }
            for m in squad.members
        ],
        "shared": [
            {
                "fault": s.fault,
                "athletes": [m.person.name for m in s.members],
                "times": s.times,
                "fix": s.fix.id if s.fix else None,
                "observations": [k.observation.id for m in s.members for k in m.standing()[s.fault].notes],
            }
            for s in squad.shared
        ],
        "pairs": [
            {
                "helper": p.helper.person.name,
                "learner": p.learner.person.name,
                "technique": p.technique,
                "fault": p.fault,
                "both_ways": p.both_ways,
            }
            for p in squad.pairs
        ],
    }


_CARE = (
    "Counts are of what the coach said, not of all that happened; few sessions say little. Before any contact: look at "
    "each athlete's welfare notes in the log, leave contact out for juniors and for anyone who may be hurt, ask "
    "qualified people and follow your local rules. Sets and times are common practice, no source."
)


def _pairs(members: Sequence[Member]) -> tuple[Pair, ...]:
    fit = [m for m in members if not m.rested]
    found = [
        (strength.times + line.times, helper, learner, technique, fault)
        for helper in fit
        for learner in fit
        if helper is not learner and helper.person.junior == learner.person.junior
        for fault, line in learner.standing().items()
        for technique in line.techniques[:1]
        if (strength := helper.strengths().get(technique)) and fault not in helper.standing()
    ]
    ways = {(h.person.id, e.person.id) for _, h, e, _, _ in found}
    best: dict[tuple[int, int], tuple[int, Pair]] = {}
    for weight, helper, learner, technique, fault in found:
        way = (helper.person.id, learner.person.id)
        if way not in best or weight > best[way][0]:
            best[way] = (weight, Pair(helper, learner, technique, fault, way[::-1] in ways))
    ranked = sorted(
        best.values(), key=lambda b: (not b[1].both_ways, -b[0], b[1].helper.person.name, b[1].learner.person.name)
    )
    return tuple(pair for _, pair in ranked[:MOST_PAIRS])


def _watched(squad: Squad) -> str:
    totals = [m.watched for m in squad.members if m.watched.counted]
    by_unit = {unit: sum(w.total for w in totals if w.unit == unit) for unit in ("round", "minute")}
    told = [w.told(by_unit[w.unit]) for w in {w.unit: w for w in totals}.values()]
    known = f", {listed(told)} watched in all" if told else ""
    return f"{capital(many(sum(len(m.days) for m in squad.members), 'athlete session'))}{known}."


def _shared(squad: Squad, lexicon: Lexicon, shown: Mapping[str, str]) -> tuple[Block, ...]:
    if not squad.shared:
        return (paragraph("No fault stands with two athletes or more in this span."),)
    head = tuple((run(text),) for text in ("Fault", "Who", "Seen", "Do instead"))
    rows = tuple(
        (
            (run(capital(name_of(s.fault, lexicon))),),
            (run(listed([shown[m.person.name] for m in s.members])),),
            (run(_seen(s)),),
            (run((s.fix.cue or capital(s.fix.means)) if s.fix else ""),),
        )
        for s in squad.shared[:MOST_SHARED]
    )
    more = len(squad.shared) - MOST_SHARED
    return (
        Table(head, rows),
        *((paragraph(f"{many(more, 'more fault')} of fewer athletes or notes."),) if more > 0 else ()),
    )


def _seen(shared: SharedFault) -> str:
    sessions = many(sum(len(m.days) for m in shared.members), "session")
    few = "; a small number" if shared.times < SMALL else ""
    return f"{times(shared.times)} in {sessions}{few}"


def _pairs_told(squad: Squad, lexicon: Lexicon, shown: Mapping[str, str]) -> tuple[Block, ...]:
    if not squad.pairs:
        return (paragraph("No strength of one is a standing fault of another in this span."),)
    items = [
        f"{shown[p.helper.person.name]} shows {shown[p.learner.person.name]} the {name_of(p.technique, lexicon)} "
        f"(against: {name_of(p.fault, lexicon)}){'; they help each other' if p.both_ways else ''}."
        for p in squad.pairs
    ]
    return (Bullets(tuple((run(item),) for item in items)),)


def _session(squad: Squad) -> tuple[tuple[Any, ...], ...]:
    lines = ["Warm-up: 5 min easy movement, joints from neck to ankles."]
    fixes = list({s.fix.id: s.fix for s in squad.shared if s.fix}.values())[:MOST_THEMES]
    for number, fix in enumerate(fixes, 1):
        safe = [d for d in fix.drills if not d.contact]
        drill = f" {drill_line(safe[0])}" if safe else ""
        lines.append(f"Theme {number}: {fix.cue or capital(fix.means)}{drill}")
    if squad.pairs:
        lines.append("Pairs: ten minutes, the one who shows it best leads, then change.")
    lines.append("End: each says aloud the one thing to keep until next time.")
    return tuple((run(line),) for line in lines)


def _first_sign(word: str) -> str:
    """The first letter with the marks that belong to it."""
    rest = next((i for i, c in enumerate(word) if i and not unicodedata.combining(c)), len(word))
    return word[:rest].upper()
