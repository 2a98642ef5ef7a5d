"""`tapeside forget`"""

from collections.abc import Iterable
from pathlib import Path

import click

from notes.archive import leftovers
from notes.archive.archive import Archive
from notes.archive.copies import owners_copies
from notes.archive.forget import Gone, forget, preview
from notes.archive.somebody import somebody
from notes.commands.common import home_of
from notes.counting import many


@click.command(name="forget")
@click.argument("name", metavar="ATHLETE")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_context
def command(ctx: click.Context, name: str, yes: bool) -> None:
    """Remove every trace of ATHLETE from the log, its files and the cache; say what it cannot reach.

    Recordings of theirs alone go whole. In a recording shared with others, what was said of them goes, and their name
    becomes "(forgotten)". So it is with an opponent or a coach who is only named on sheets.

    \b
    Example: tapeside forget Mara
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        who = somebody(archive, name)
        gone = preview(archive, who)
        click.echo(f"{who.name}: this goes, for good:")
        _tell(gone, leftovers.to_remove(home, who, gone.files, gone.renamed))
        shared = leftovers.shared_narrations(home, who)
        _list("unfinished narrations that stay for others, without them", map(str, shared))
        if not yes and not click.confirm("Forget it all?"):
            click.echo("Nothing was changed.")
            ctx.exit(1)
        learned = leftovers.learned_from_corrections(home)
        beyond = [*map(str, owners_copies(home)), *gone.footage]
        gone, overwritten = forget(archive, who)
    click.echo(f"{who.name}: forgotten")
    if learned:
        click.echo("What the second reader had learned went too; from the corrections that are left: tapeside learn")
    if not overwritten:
        click.echo(
            "The log's files may still hold old bytes, as another tapeside has it open or the disk is full; mend that "
            "and run any command, which overwrites them",
            err=True,
        )
    _tell_beyond(beyond, gone, leftovers.still_named(home, who.pattern))


def _tell(gone: Gone, files: list[Path]) -> None:
    _list("recordings of theirs alone", gone.recordings)
    _list("recordings that stay for others, without them", gone.shared)
    click.echo(f"  {many(gone.entries, 'observation')}, {many(gone.verdicts, 'verdict')}")
    _list("files", map(str, files))


def _tell_beyond(beyond: list[str], gone: Gone, named: list[str]) -> None:
    click.echo("Beyond reach, yours to deal with: critiques, exports and clips that were saved or sent elsewhere")
    _list("the recordings themselves", [*gone.recordings, *gone.shared])
    _list("your backups and the footage", beyond)
    _list("lines that you wrote and that hold a name", named)


def _list(title: str, items: Iterable[str]) -> None:
    if found := list(dict.fromkeys(items)):
        click.echo(f"  {title} ({len(found)}): {', '.join(found)}")
