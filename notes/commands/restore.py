"""`tapeside restore`"""

from pathlib import Path

import click

from notes.archive.restore import restore
from notes.commands.common import FILE, home_of


@click.command(name="restore")
@click.argument("backup", metavar="F", type=FILE)
@click.pass_context
def command(ctx: click.Context, backup: Path) -> None:
    """Put the backup F in the place of the log; what was there before is kept.

    \b
    Example: tapeside restore club.zip
    """
    manifest, aside = restore(home_of(ctx), backup)
    click.echo(f"{backup}: restored; {manifest.told}")
    if aside:
        click.echo(f"What was there before is in {aside}")
