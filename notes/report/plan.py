"""A training plan from what stands in the log: warm-up, two or three themes with drills, how they grow over four weeks.

Dosage and progression (alone and slow, then bag or pads, then a partner, then sparring) are common practice, no source.
An athlete who is a junior, or of whom something was noted lately that may be a hurt, gets no drill with contact; the
plan says so and leaves the rest to qualified people.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from lexicon import Entry, Lexicon
from lexicon.entries import Drill
from notes.archive.entries import Kept
from notes.archive.exposure import Exposure
from notes.archive.log import fault_log
from notes.archive.people import KnownPerson
from notes.counting import many
from notes.report.caution import CAUTION, SOURCE
from notes.report.document import (
    Block,
    Bullets,
    Document,
    Run,
    Section,
    Table,
    heading,
    labelled,
    paragraph,
    plain,
    run,
)
from notes.report.letter import NEEDS, drill_line
from notes.report.priorities import MOST_PRIORITIES, Priority, choose_priorities
from notes.report.wording import capital, day, days, key_of, listed, name_of

# Sessions and days that count as "lately", for choosing themes and for welfare notes (common practice, no source).
NEWEST_SESSIONS = 3
WELFARE_DAYS = 28
PRACTICE = "Sets, times and the order of the weeks are common practice, no source."


@dataclass(frozen=True, slots=True)
class Theme:
    """One thing to train: the fault behind it, the fix, its drills in order, and how to see that it is better."""

    fault: str
    technique: str | None
    fix: Entry
    drills: tuple[Drill, ...]
    left_out: int
    notes: tuple[Kept, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What to train, from the notes of `days`. `welfare` are the notes that keep contact out."""

    athlete: KnownPerson
    days: tuple[date, ...]
    welfare: tuple[Kept, ...]
    themes: tuple[Theme, ...]

    @property
    def no_contact(self) -> bool:
        """Whether drills with contact are left out."""
        return self.athlete.junior or bool(self.welfare)


def make_plan(athlete: KnownPerson, notes: Sequence[Kept], watched: Exposure, lexicon: Lexicon) -> Plan:
    """Themes from the newest three sessions, by the rule of `priorities`; faults gone quiet or easing come last."""
    newest = sorted({kept.day for kept in notes})[-NEWEST_SESSIONS:]
    lately = [kept for kept in notes if kept.day in newest]
    before = [kept for kept in notes if kept.day not in newest]
    welfare = recent_welfare(notes)
    gentle = athlete.junior or bool(welfare)
    stands = {line.key: line.standing for line in fault_log(list(notes), watched)}
    found = choose_priorities(lately, before, lexicon, most=len(stands))
    found = tuple(sorted(found, key=lambda p: stands.get(p.line.key) in ("quiet", "easing")))
    themes = [theme for priority in found if (theme := _theme(priority, gentle=gentle))]
    return Plan(athlete, tuple(newest), welfare, tuple(themes[:MOST_PRIORITIES]))


def recent_welfare(notes: Sequence[Kept]) -> tuple[Kept, ...]:
    """Welfare notes of the newest session and the four weeks before it. That someone is well again no log can tell."""
    newest = max((kept.day for kept in notes), default=date.min)
    since = newest - timedelta(days=WELFARE_DAYS) if notes else newest
    return tuple(k for k in notes if k.observation.kind == "welfare" and k.day >= since)


def plan_document(plan: Plan, lexicon: Lexicon) -> Document:
    """The plan as a paper."""
    name = plan.athlete.name
    opening = (
        heading(1, f"{name}: training plan"),
        paragraph(f"From the reviews of {days(plan.days)}. {PRACTICE}"),
    )
    sections = [Section("opening", opening)]
    if plan.no_contact:
        sections.append(_care(plan))
    sections.append(Section("warm-up", (heading(2, "Warm-up"), Bullets(_warm_up(plan)))))
    sections += [_theme_section(theme, lexicon) for theme in plan.themes]
    sections.append(Section("weeks", (heading(2, "Four weeks"), _weeks(plan))))
    return Document(plain(f"{name}: training plan"), f"training plan of {name}, {days(plan.days)}", tuple(sections))


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan for scripts."""
    return {
        "athlete": plan.athlete.name,
        "days": [on.isoformat() for on in plan.days],
        "no_contact": plan.no_contact,
        "welfare": [kept.observation.id for kept in plan.welfare],
        "themes": [
            {
                "fault": theme.fault,
                "technique": theme.technique,
                "fix": theme.fix.id,
                "cue": theme.fix.cue,
                "sign": theme.fix.sign,
                "drills": [drill.model_dump() for drill in theme.drills],
                "drills_left_out": theme.left_out,
                "observations": [kept.observation.id for kept in theme.notes],
            }
            for theme in plan.themes
        ],
        "weeks": [list(row) for row in _week_rows(plan)],
        "dosage": "common practice, no source",
    }


def _theme(priority: Priority, *, gentle: bool) -> Theme | None:
    if priority.fix is None:
        return None
    drills = tuple(d for d in priority.fix.drills if not (gentle and d.contact))
    order = ("alone", "bag", "pads", "partner")
    return Theme(
        fault=priority.line.key,
        technique=priority.line.techniques[0] if priority.line.techniques else None,
        fix=priority.fix,
        drills=tuple(sorted(drills, key=lambda d: (d.contact, order.index(d.needs)))),
        left_out=len(priority.fix.drills) - len(drills),
        notes=priority.line.notes,
    )


def _care(plan: Plan) -> Section:
    noted = [day(on) for on in sorted({kept.day for kept in plan.welfare})]
    why = ["a junior"] if plan.athlete.junior else []
    why += [f"noted on {listed(noted)} as possibly hurt or unwell"] if noted else []
    left_out = sum(theme.left_out for theme in plan.themes)
    lines = [
        f"{plan.athlete.name} is {listed(why)}. Drills with contact are left out ({left_out} here).",
        "Whether and when contact is right is for qualified people to say, by your local rules"
        + (", together with a parent or guardian." if plan.athlete.junior else "."),
    ]
    blocks: list[Block] = [heading(2, "First of all"), paragraph(*lines)]
    if plan.welfare:
        blocks.append(paragraph(f"Before any training at all: ask a qualified person. {CAUTION} ({SOURCE})"))
    notes = tuple(kept.observation.id for kept in plan.welfare)
    return Section("care", tuple(blocks), notes, look="caution")


def _warm_up(plan: Plan) -> tuple[tuple[Run, ...], ...]:
    cues = [theme.fix.cue for theme in plan.themes if theme.fix.cue]
    lines = [
        "5 min easy movement: skipping or footwork, joints from neck to ankles.",
        "2 x 2 min of your own movements, light and alone.",
    ]
    if cues:
        lines[1] = f"2 x 2 min of your own movements, light and alone, with one thing in mind: “{cues[0]}”"
    return tuple((run(line),) for line in lines)


def _theme_section(theme: Theme, lexicon: Lexicon) -> Section:
    on = f" ({name_of(theme.technique, lexicon)})" if theme.technique else ""
    rows = [labelled("In mind", theme.fix.cue or capital(theme.fix.means))]
    rows += [labelled("Drill", drill_line(drill)) for drill in theme.drills]
    if not theme.drills:
        rows.append(labelled("Drill", "none without contact; ask the coach."))
    if theme.fix.sign:
        rows.append(labelled("Better when", f"{theme.fix.sign}."))
    title = f"{capital(theme.fix.label)}, against {name_of(theme.fault, lexicon)}{on}"
    ids = tuple(kept.observation.id for kept in theme.notes)
    return Section(f"theme-{key_of(theme.fault)}", (heading(2, title), Bullets(tuple(rows))), ids)


def _weeks(plan: Plan) -> Table:
    rows = tuple((((run(week),), (run(what),))) for week, what in _week_rows(plan))
    return Table(((run("Week"),), (run("What"),)), rows)


def _week_rows(plan: Plan) -> tuple[tuple[str, str], ...]:
    needs = {drill.needs for theme in plan.themes for drill in theme.drills}
    tools = listed([NEEDS[n] for n in ("bag", "pads") if n in needs]) if needs & {"bag", "pads"} else "at full speed"
    partner = any(drill.contact for theme in plan.themes for drill in theme.drills)
    last = "No sparring from this plan: look at the signs again on pads or on film." if plan.no_contact else (
        f"Light sparring, one theme a round; film it and look for the {many(len(plan.themes), 'sign')} above."
    )  # fmt: skip
    return (
        ("1", "Slow and alone: the first drill of each theme, every repeat right before it is fast."),
        ("2", f"The same drills {tools}; add speed only while the sign is there."),
        ("3", "With a partner, at half speed first." if partner else "Two themes in one round; change on a call."),
        ("4", last),
    )
