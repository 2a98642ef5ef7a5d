"""`tapeside log`"""

from datetime import date
from typing import Any, get_args

import click

from notes.archive.archive import Archive
from notes.archive.log import LogLine, Standing, fault_log
from notes.commands.common import Day, home_of, json_option, print_json
from notes.model import Kind
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
        days = [d for d in archive.days_of(person) if (since is None or d >= since) and (until is None or d <= until)]
    lines = [
        line
        for line in fault_log(notes, days)
        if kind in (None, line.kind) and fault in (None, line.key) and standing in (None, line.standing)
    ]
    if as_json:
        print_json({"athlete": person.name, "sessions": len(days), "lines": [_line_json(line) for line in lines]})
    else:
        _print(person.name, days, lines)
    ctx.exit(0 if lines else 1)


def _line_json(line: LogLine) -> dict[str, Any]:
    return {
        "key": line.key,
        "kind": line.kind,
        "times": line.times,
        "sessions": line.sessions,
        "last_seen": line.last_seen.isoformat(),
        "standing": line.standing,
        "best_quote": line.best_quote,
        "techniques": list(line.techniques),
        "fixes": list(line.fixes),
        "observations": [observation_json(k.observation, timed=k.timed, verdict=k.verdict) for k in line.notes],
    }


_TITLES = {"fault": "Faults", "strength": "Strengths", "advice": "Advice", "welfare": "Welfare"}


def _print(name: str, days: list[date], lines: list[LogLine]) -> None:
    if not lines:
        click.echo(f"Nothing in the log of {name} that fits.")
        return
    sessions = "1 session" if len(days) == 1 else f"{len(days)} sessions"
    click.echo(f"{name}: {sessions}, {days[0]} to {days[-1]}" if len(days) > 1 else f"{name}: {sessions}, {days[0]}")
    for kind in ("welfare", "fault", "strength", "advice"):
        of_kind = [line for line in lines if line.kind == kind]
        if not of_kind:
            continue
        click.echo(f"\n{_TITLES[kind]}")
        for line in of_kind:
            _print_line(line)
        if kind == "welfare":
            click.echo(f"  {CAUTION}\n  ({SOURCE})")


def _print_line(line: LogLine) -> None:
    on = f" on {', '.join(line.techniques[:2])}" if line.kind == "fault" and line.techniques else ""
    stands = f", {line.standing}" if line.standing else ""
    title = "unlisted" if line.key.startswith("unlisted") else line.key
    click.echo(f"  {title}{on}: {line.times}x, last {line.last_seen}{stands}")
    click.echo(f"      “{_short(line.best_quote)}”{_when(line)}")
    if line.fixes:
        click.echo(f"      fix: {', '.join(line.fixes)}")


def _when(line: LogLine) -> str:
    moments = [k.observation.footage_ms for k in line.notes if k.observation.footage_ms is not None]
    return f"  [{', '.join(clock(m) for m in moments[:4])}]" if moments else ""


def _short(text: str) -> str:
    return text if len(text) <= 140 else text[:139].rstrip() + "…"
