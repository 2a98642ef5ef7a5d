"""`tapeside critique`"""

from datetime import date
from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.commands.common import FILE, Day, home_of, load_lexicon
from notes.report.critique import check_ending, make_critique, write_critique


@click.command(name="critique")
@click.argument("athlete")
@click.option("--session", type=Day(), help="The day of the session; default: the newest.")
@click.option("--out", type=FILE, required=True, help="F.md.")
@click.pass_context
def command(ctx: click.Context, athlete: str, session: date | None, out: Path) -> None:
    """Write the critique of one session for ATHLETE.

    \b
    Example: tapeside critique Mara --out mara.md
    """
    check_ending(out)
    home = home_of(ctx)
    with Archive(home) as archive:
        person = archive.athlete(athlete)
        days = archive.days_of(person)
        day = session or days[-1]
        notes = [kept for kept in archive.observations_of(person) if kept.day == day]
    if not notes:
        click.echo(f"Nothing in the log of {person.name} on {day}.", err=True)
        ctx.exit(1)
    write_critique(make_critique(person, notes, [d for d in days if d <= day]), load_lexicon(home), out)
    click.echo(f"Critique of {person.name}, {day}: {out}")
