"""`tapeside plan`"""

from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.archive.exposure import exposure, watched_of
from notes.commands.common import FILE, home_of, json_option, print_json
from notes.commands.critique import tell_edits
from notes.intake import load_lexicon
from notes.report.markdown import write_blocks
from notes.report.paper import check_ending, write_paper
from notes.report.plan import make_plan, plan_document, plan_json


@click.command(name="plan")
@click.argument("athlete")
@click.option("--out", type=FILE, help="F.md, F.html, F.pdf or F.docx; default: print it.")
@json_option
@click.pass_context
def command(ctx: click.Context, athlete: str, out: Path | None, as_json: bool) -> None:
    """Make ATHLETE's training plan from what stands in the log.

    \b
    Example: tapeside plan Mara --out mara-plan.pdf
    """
    if out:
        check_ending(out)
    home = home_of(ctx)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        person = archive.athlete(athlete)
        plan = make_plan(person, archive.observations_of(person), exposure(watched_of(archive, person)), lexicon)
    if not plan.themes:
        click.echo(f"No fault with a known fix in the log of {person.name}; nothing to plan from.", err=True)
        ctx.exit(1)
    document = plan_document(plan, lexicon)
    if as_json:
        print_json(plan_json(plan))
    elif out is None:
        click.echo("\n\n".join(write_blocks(section.blocks) for section in document.sections))
    if out:
        edits = write_paper(document, out)
        click.echo(f"Plan of {person.name}: {out}", err=as_json)
        tell_edits(edits)
