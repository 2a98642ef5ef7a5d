"""`tapeside log`"""

from datetime import date
from typing import Any, get_args

import click

from notes.archive.archive import Archive
from notes.archive.exposure import Exposure, exposure, watched_of
from notes.archive.log import FollowThrough, LogLine, Since, Standing, fault_log
from notes.archive.moments import told_again
from notes.archive.unlisted import add_command
from notes.commands.common import Day, home_of, json_option, print_json
from notes.counting import many
from notes.model import UNLISTED, Kind
from notes.observations_json import observation_json
from notes.report.caution import CAUTION, SOURCE
from notes.times import clock


@click.command(name="log")
@click.argument("athlete")
@click.option("--kind", type=click.Choice(get_args(Kind)), help="Only this kind.")
@click.option("--fault", help="Only this fault id.")
@click.option("--technique", help="Only notes that name this technique id.")
@click.option("--standing", type=click.Choice(get_args(Standing)), help="Only faults that stand so.")
@click.option("--since", type=Day(), help="From this day on, such as 2031-03-14.")
@click.option("--until", type=Day(), help="Up to this day.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    athlete: str,
    kind: str | None,
    fault: str | None,
    technique: str | None,
    standing: str | None,
    since: date | None,
    until: date | None,
    as_json: bool,
) -> None:
    """Show the fault log of ATHLETE (a name or alias).

    \b
    Example: tapeside log Mara --kind fault
    """
    with Archive(home_of(ctx)) as archive:
        person = archive.athlete(athlete)
        notes = [
            kept
            for kept in archive.observations_of(person)
            if (since is None or kept.day >= since)
            and (until is None or kept.day <= until)
            and (technique is None or technique in kept.observation.techniques)
        ]
        watched = exposure(
            w
            for w in watched_of(archive, person)
            if (since is None or w.day >= since) and (until is None or w.day <= until)
        )
    lines = [
        line
        for line in fault_log(notes, watched)
        if kind in (None, line.kind) and fault in (None, line.key) and standing in (None, line.standing)
    ]
    if as_json:
        print_json(
            {
                "athlete": person.name,
                "sessions": len(watched.days),
                "watched": exposure_json(watched),
                "lines": [_line_json(line) for line in lines],
            }
        )
    else:
        _print(person.name, watched, lines)
    ctx.exit(0 if lines else 1)


def exposure_json(watched: Exposure) -> dict[str, Any]:
    """What was watched, day by day."""
    return {
        "unit": watched.unit,
        "total": round(watched.total, 3),
        "recordings": len(watched.counted),
        "of_the_same_footage": watched.retold,
        "by_rounds_spoken_of": watched.by_word,
        "left_out": watched.left_out,
        "days": [
            {"day": day.isoformat(), "amount": round(amount, 3)}
            for day, amount in zip(watched.days, watched.amounts, strict=True)
        ],
    }


def _line_json(line: LogLine) -> dict[str, Any]:
    return {
        "key": line.key,
        "kind": line.kind,
        "times": line.times,
        "sessions": line.sessions,
        "last_seen": line.last_seen.isoformat(),
        "watched_since": round(line.watched_since, 3),
        "standing": line.standing,
        "best_quote": line.best_quote,
        "why": line.why,
        "techniques": list(line.techniques),
        "fixes": list(line.fixes),
        "follow_through": [
            {
                "fix": f.fix,
                "given": [day.isoformat() for day in f.given],
                "since_first": _since_json(f.since_first),
                "since_last": _since_json(f.since_last),
            }
            for f in line.follow_through
        ],
        "moments": [[kept.observation.id for kept in moment] for moment in line.moments],
        "observations": [observation_json(k.observation, timed=k.timed, verdict=k.verdict) for k in line.notes],
    }


def _since_json(since: Since) -> dict[str, Any]:
    return {"seen": since.seen, "praised": since.praised, "watched": round(since.watched, 3)}


_TITLES = {"fault": "Faults", "strength": "Strengths", "advice": "Advice", "welfare": "Welfare"}


def _print(name: str, watched: Exposure, lines: list[LogLine]) -> None:
    if not lines:
        click.echo(f"Nothing in the log of {name} that fits.")
        return
    days = watched.days
    sessions = f"{many(len(days), 'session')}, {days[0]}{f' to {days[-1]}' if len(days) > 1 else ''}"
    click.echo(f"{name}: {sessions}; {watched.summary}")
    for kind in ("welfare", "fault", "strength", "advice"):
        of_kind = [line for line in lines if line.kind == kind]
        if not of_kind:
            continue
        click.echo(f"\n{_TITLES[kind]}")
        for line in of_kind:
            _print_line(line, watched)
        if kind == "welfare":
            click.echo(f"  {CAUTION}\n  ({SOURCE})")


def _print_line(line: LogLine, watched: Exposure) -> None:
    on = f" on {', '.join(line.techniques[:2])}" if line.kind == "fault" and line.techniques else ""
    stands = f", {line.standing}" if line.standing else ""
    unlisted = line.key.startswith(UNLISTED)
    ago = f" ({watched.told(line.watched_since)} ago)" if line.watched_since else ""
    seen = f"{line.times}x{told_again(line.moments)}, last {line.last_seen}{ago}{stands}"
    click.echo(f"  {UNLISTED if unlisted else line.key}{on}: {seen}")
    click.echo(f"      “{_short(line.best_quote)}”{_when(line)}")
    if line.why:
        click.echo(f"      why: {_short(line.why)}")
    for followed in line.follow_through:
        click.echo(f"      fix: {_followed(followed, watched)}")
    if unlisted and len(line.notes) > 1:
        wordings = [k.observation.unlisted or k.observation.quote for k in line.notes]
        click.echo(f"      make it an entry: {add_command(wordings)}")


def _followed(followed: FollowThrough, watched: Exposure) -> str:
    first, last = followed.given[0], followed.given[-1]
    if first == last:
        return f"{followed.fix}, given {first}{_since('it', followed.since_first, watched)}"
    days = f"{followed.fix}, given on {len(followed.given)} days, {first} to {last}"
    since_last = _since("the last", followed.since_last, watched)
    return days + _since("the first", followed.since_first, watched) + since_last


def _since(what: str, since: Since, watched: Exposure) -> str:
    if not since.watched:
        return ""
    praised = f", praised there {since.praised}x" if since.praised else ""
    return f"; in {watched.told(since.watched)} since {what}: seen {since.seen}x{praised}"


def _when(line: LogLine) -> str:
    times = [at for moment in line.moments if (at := moment[0].observation.footage_ms) is not None]
    return f"  [{', '.join(map(clock, times[:4]))}]" if times else ""


def _short(text: str) -> str:
    return text if len(text) <= 140 else text[:139].rstrip() + "…"
