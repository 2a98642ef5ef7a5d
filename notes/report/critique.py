"""The written critique: what went well, at most three things to work on, welfare on top."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from lexicon import Lexicon
from notes.archive.archive import Kept, KnownPerson
from notes.archive.log import LogLine, fault_log
from notes.errors import TapesideError
from notes.model import UNLISTED
from notes.report.caution import CAUTION, SOURCE
from notes.times import clock

# Few points: about four things are held at once (Cowan 2001, Behav Brain Sci 24:87; from memory).
MOST_PRIORITIES = 3
MOST_STRENGTHS = 4


@dataclass(frozen=True, slots=True)
class Critique:
    """What is said to an athlete about the sessions of `days`."""

    athlete: KnownPerson
    days: tuple[date, ...]
    welfare: tuple[Kept, ...]
    strengths: tuple[LogLine, ...]
    priorities: tuple[LogLine, ...]
    advice: tuple[LogLine, ...]


def make_critique(athlete: KnownPerson, notes: list[Kept], days: list[date]) -> Critique:
    """Choose what to say: the faults seen most often, repeats and named reasons first among equals."""
    lines = fault_log(notes)
    faults = [line for line in lines if line.kind == "fault"]
    faults.sort(
        key=lambda line: (
            -line.times,
            -sum(k.observation.again for k in line.notes),
            -sum(bool(k.observation.why) for k in line.notes),
            line.key.startswith(UNLISTED),
            line.key,
        )
    )
    return Critique(
        athlete=athlete,
        days=tuple(sorted({kept.day for kept in notes})),
        welfare=tuple(k for k in notes if k.observation.kind == "welfare"),
        strengths=tuple(line for line in lines if line.kind == "strength")[:MOST_STRENGTHS],
        priorities=tuple(faults[:MOST_PRIORITIES]),
        advice=tuple(line for line in lines if line.kind == "advice")[:MOST_PRIORITIES],
    )


def write_critique(critique: Critique, lexicon: Lexicon, out: Path) -> None:
    """Write a critique in the form that the file's name asks for. Raises TapesideError for another ending."""
    check_ending(out)
    text = FORMS[out.suffix.lower()](critique, lexicon)
    try:
        out.write_text(text, encoding="utf-8")
    except OSError as error:
        raise TapesideError(f'Cannot write "{out}" ({error.strerror})') from None


def check_ending(out: Path) -> None:
    """Raise TapesideError unless a critique can be written under this name."""
    if out.suffix.lower() not in FORMS:
        raise TapesideError(f'"{out}" must end in {", ".join(FORMS)}; the ending chooses the form')


def _markdown(critique: Critique, lexicon: Lexicon) -> str:
    days = " and ".join(day.isoformat() for day in critique.days)
    blocks = [f"# {_plain(critique.athlete.name)}: critique of {days}"]
    if critique.welfare:
        said = [f"- {_moment(kept)}: “{_plain(kept.observation.quote)}”" for kept in critique.welfare]
        blocks += ["## First of all", "\n".join(said), f"{CAUTION} ({SOURCE})"]
    if critique.strengths:
        blocks += ["## What went well", "\n".join(_strength(line, lexicon) for line in critique.strengths)]
    if critique.priorities:
        blocks.append("## To work on")
        blocks += [_priority(number, line, lexicon) for number, line in enumerate(critique.priorities, 1)]
    if critique.advice:
        tried = [f"- “{_plain(line.best_quote)}”" for line in critique.advice]
        blocks += ["## Also worth trying", "\n".join(tried)]
    return "\n\n".join(blocks) + "\n"


def _strength(line: LogLine, lexicon: Lexicon) -> str:
    name = f"**{_label(line.key, lexicon)}**: " if line.key in lexicon.entries else ""
    return f"- {name}“{_plain(line.best_quote)}” ({_moments(line)})"


def _priority(number: int, line: LogLine, lexicon: Lexicon) -> str:
    entry = lexicon.entries.get(line.key)
    title = _label(line.key, lexicon) if entry else "In the coach's words"
    on = f" ({_label(line.techniques[0], lexicon).lower()})" if line.techniques else ""
    rows = [f"- Seen {_moments(line)}"]
    whys = [k.observation.why for k in line.notes if k.observation.why]
    if why := whys[0] if whys else entry.why if entry else None:
        rows.append(f"- Why: {_plain(why)}")
    fixes = [f for f in line.fixes if f in lexicon.entries] or list(entry.fixes[:1] if entry else ())
    if fixes:
        rows.append(f"- Instead: {'; '.join(lexicon.entries[f].means for f in fixes[:2])}")
        drills = [drill for f in fixes for drill in lexicon.entries[f].drills]
        rows += [f"- Drill: {drill}" for drill in drills[:1]]
    return f"### {number}. {title}{on}\n\n> {_plain(line.best_quote)}\n\n" + "\n".join(rows)


def _moments(line: LogLine) -> str:
    shown = [_moment(kept) for kept in line.notes[:5]]
    times = "once" if line.times == 1 else f"{line.times} times"
    return f"{times}: {', '.join(dict.fromkeys(shown))}{' …' if line.times > 5 else ''}"


def _moment(kept: Kept) -> str:
    o = kept.observation
    if o.footage_ms is not None:
        where = f"{clock(o.footage_ms)} on the footage"
    elif kept.timed:
        where = f"{clock(o.start_ms)} in the talk"
    else:
        where = kept.day.isoformat()
    return f"round {o.round}, {where}" if o.round else where


def _label(term: str, lexicon: Lexicon) -> str:
    label = lexicon.entries[term].label if term in lexicon.entries else term
    return label[:1].upper() + label[1:]


def _plain(text: str) -> str:
    """Speech shown as it is: nothing in it may act as Markdown or HTML."""
    for sign in "\\`*_[]<>#|":
        text = text.replace(sign, f"\\{sign}" if sign not in "<>" else {"<": "&lt;", ">": "&gt;"}[sign])
    return " ".join(text.split())


FORMS: dict[str, Callable[[Critique, Lexicon], str]] = {".md": _markdown}
