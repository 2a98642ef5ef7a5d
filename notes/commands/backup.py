"""`tapeside backup`"""

from pathlib import Path

import click

from notes.archive.backup import make_backup
from notes.archive.copies import remember_copy
from notes.commands.common import FILE, home_of


@click.command(name="backup")
@click.argument("target", metavar="F", type=FILE)
@click.pass_context
def command(ctx: click.Context, target: Path) -> None:
    """Copy the whole home, log and vocabulary, into a new file F.

    The log may be in use. The backup is read again and compared before it is called done.

    \b
    Example: tapeside backup club.zip
    """
    home = home_of(ctx)
    manifest = make_backup(home, target)
    remember_copy(home, target)
    click.echo(f"{target}: written and compared; {manifest.told}")
