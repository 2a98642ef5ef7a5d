"""`tapeside export`"""

from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.commands.common import FILE, home_of
from notes.counting import many
from notes.report.export import check_ending, write_export


@click.command(name="export")
@click.option("--out", type=FILE, required=True, help="F.json, F.csv or F.parquet.")
@click.option("--athlete", help="Only what is kept of this athlete.")
@click.pass_context
def command(ctx: click.Context, out: Path, athlete: str | None) -> None:
    """Write every observation of the log with its verdict, struck ones too.

    \b
    Example: tapeside export --out club.csv
    """
    check_ending(out)
    with Archive(home_of(ctx)) as archive:
        count = write_export(archive, out, archive.athlete(athlete) if athlete else None)
    click.echo(f"{out}: {many(count, 'observation')}")
    ctx.exit(0 if count else 1)
