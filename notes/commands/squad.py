"""`tapeside squad`"""

from datetime import date
from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.archive.exposure import exposure, watched_of
from notes.archive.people import KnownPerson
from notes.commands.common import FILE, Day, home_of, json_option, print_json
from notes.commands.critique import tell_edits
from notes.intake import load_lexicon
from notes.report.markdown import write_blocks
from notes.report.paper import check_ending, write_paper
from notes.report.squad import Member, make_squad, member, squad_document, squad_json


@click.command(name="squad")
@click.option("--since", type=Day(), help="From this day on, such as 2031-03-14.")
@click.option("--until", type=Day(), help="Up to this day.")
@click.option("--names", is_flag=True, help="Show names; the sheet for the wall has initials.")
@click.option("--out", type=FILE, help="F.md, F.html, F.pdf or F.docx; default: print it.")
@json_option
@click.pass_context
def command(
    ctx: click.Context, since: date | None, until: date | None, names: bool, out: Path | None, as_json: bool
) -> None:
    """Show the faults that several athletes share, who could help whom, and a session for all.

    \b
    Example: tapeside squad --since 2031-03-01 --out wall.pdf
    """
    if out:
        check_ending(out)
    home = home_of(ctx)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        members = [m for person in archive.athletes() if (m := _member(archive, person, since, until)).days]
    if not members:
        click.echo("Nobody in the log in this span.", err=True)
        ctx.exit(1)
    squad = make_squad(members, lexicon)
    document = squad_document(squad, lexicon, names=names)
    if as_json:
        print_json(squad_json(squad))
    elif out is None:
        click.echo("\n\n".join(write_blocks(section.blocks) for section in document.sections))
    if out:
        edits = write_paper(document, out)
        click.echo(f"Squad sheet: {out}", err=as_json)
        tell_edits(edits)


def _member(archive: Archive, person: KnownPerson, since: date | None, until: date | None) -> Member:
    def inside(day: date) -> bool:
        return (since is None or day >= since) and (until is None or day <= until)

    return member(
        person,
        [kept for kept in archive.observations_of(person) if inside(kept.day)],
        exposure(w for w in watched_of(archive, person) if inside(w.day)),
        [day for day in archive.days_of(person) if inside(day)],
    )
