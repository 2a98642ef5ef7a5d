"""`tapeside people`"""

from datetime import date, timedelta
from typing import Any

import click

from notes.archive.archive import Archive
from notes.archive.merging import merge, preview_merge, split
from notes.archive.roster import Member, roster
from notes.commands.common import home_of, json_option, print_json
from notes.counting import many


@click.group(name="people", invoke_without_command=True)
@click.option("--juniors", is_flag=True, help="Only those marked as juniors on a sheet.")
@click.option("--older-than", type=click.IntRange(0), metavar="DAYS", help="Only those not reviewed for so many days.")
@json_option
@click.pass_context
def command(ctx: click.Context, juniors: bool, older_than: int | None, as_json: bool) -> None:
    """List the athletes of the log, juniors marked, with their sessions.

    With --older-than, those whom you may no longer need to keep; `forget` removes one.

    \b
    Example: tapeside people --older-than 365
    """
    if ctx.invoked_subcommand:
        return
    last = None if older_than is None else date.today() - timedelta(days=older_than)
    with Archive(home_of(ctx)) as archive:
        found = [
            member
            for member in roster(archive)
            if (member.person.junior or not juniors) and (last is None or max(member.days, default=date.min) < last)
        ]
    if as_json:
        print_json({"people": [_json(member) for member in found]})
    else:
        for member in found:
            click.echo(_line(member))
        if not found:
            click.echo("Nobody in the log that fits.")
    ctx.exit(0 if found else 1)


def _json(member: Member) -> dict[str, Any]:
    return {
        "name": member.person.name,
        "aliases": list(member.others),
        "junior": member.person.junior,
        "stance": member.person.stance,
        "sessions": [day.isoformat() for day in member.days],
        "observations": member.notes,
    }


def _line(member: Member) -> str:
    others = f" ({', '.join(member.others)})" if member.others else ""
    junior = ", junior" if member.person.junior else ""
    sessions = many(len(member.days), "session")
    newest = f", newest {member.days[-1]}" if member.days else ""
    return f"{member.person.name}{others}{junior}: {sessions}{newest}; {many(member.notes, 'observation')}"


@command.command(name="merge")
@click.argument("name")
@click.argument("into")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option("--why", help="Your reason, kept beside it.")
@click.pass_context
def merge_command(ctx: click.Context, name: str, into: str, yes: bool, why: str | None) -> None:
    """From now on NAME is the athlete INTO: a typo or a nickname. Nothing is lost; `people split` takes it back.

    \b
    Example: tapeside people merge Marra Mara
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        gone, stays = preview_merge(archive, name, into)
        for share in (gone, stays):
            click.echo(f"{share.person.name}: {many(share.days, 'session')}, {many(share.notes, 'observation')}")
        if not yes and not click.confirm(f"Put them together under the name {stays.person.name}?"):
            click.echo("Nothing was changed.")
            ctx.exit(1)
        person = merge(archive, name, into, why=why)
    click.echo(f"{gone.person.name} is {person.name} from now on.")


@command.command(name="split")
@click.argument("name")
@click.option("--why", help="Your reason, kept beside it.")
@click.pass_context
def split_command(ctx: click.Context, name: str, why: str | None) -> None:
    """Make NAME, merged before, an athlete of their own again.

    \b
    Example: tapeside people split Marra
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        person = split(archive, name, why=why)
        notes = len(archive.observations_of(person))
    click.echo(f"{person.name} is an athlete of their own again, with {many(notes, 'observation')}.")
