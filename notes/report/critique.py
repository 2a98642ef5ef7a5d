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
    lines = fault_log(notes, days)
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
    parts = [f"# {_plain(critique.athlete.name)}: critique of {days}\n"]
    if critique.welfare:
        parts.append("## First of all\n")
        parts += [f"- {_moment(kept)}: “{_plain(kept.observation.quote)}”\n" for kept in critique.welfare]
        parts.append(f"\n{CAUTION} ({SOURCE})\n")
    if critique.strengths:
        parts.append("## What went well\n")
        parts += [_strength(line, lexicon) for line in critique.strengths]
    if critique.priorities:
        parts.append("\n## To work on\n")
        parts += [_priority(number, line, lexicon) for number, line in enumerate(critique.priorities, 1)]
    if critique.advice:
        parts.append("\n## Also worth trying\n")
        parts += [f"- “{_plain(line.best_quote)}”\n" for line in critique.advice]
    return "\n".join(part.rstrip("\n") for part in parts) + "\n"


def _strength(line: LogLine, lexicon: Lexicon) -> str:
    name = f"**{_label(line.key, lexicon)}** " if line.key in lexicon.entries else ""
    return f"- {name}“{_plain(line.best_quote)}” ({_moments(line)})\n"


def _priority(number: int, line: LogLine, lexicon: Lexicon) -> str:
    if line.key.startswith(UNLISTED):
        title, entry = "In the coach's words", None
    else:
        title, entry = _label(line.key, lexicon), lexicon.entries.get(line.key)
    on = f" on the {_label(line.techniques[0], lexicon).lower()}" if line.techniques else ""
    rows = [f"### {number}. {title}{on}\n", f"> {_plain(line.best_quote)}\n", f"- Seen: {_moments(line)}"]
    whys = [k.observation.why for k in line.notes if k.observation.why]
    if whys:
        rows.append(f"- Why: {_plain(whys[0])}")
    elif entry and entry.why:
        rows.append(f"- Why: {entry.why}")
    given = [f for f in line.fixes if f in lexicon.entries]
    fixes = given or list(entry.fixes[:1] if entry else ())
    if fixes:
        rows.append(f"- Instead: {'; '.join(lexicon.entries[f].means for f in fixes[:2])}")
        drills = [drill for f in fixes for drill in lexicon.entries[f].drills]
        if drills:
            rows.append(f"- Drill: {drills[0]}")
    return "\n".join(rows) + "\n"


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
