"""`tapeside search`"""

from datetime import date
from typing import get_args

import click

from notes.archive.archive import Archive
from notes.archive.search import Filters, search
from notes.commands.common import Day, home_of, json_option, load_lexicon, print_json
from notes.model import Kind
from notes.observations_json import observation_json
from notes.times import clock


@click.command(name="search")
@click.argument("query")
@click.option("--athlete", help="Only notes on this athlete.")
@click.option("--kind", type=click.Choice(get_args(Kind)), help="Only this kind.")
@click.option("--fault", help="Only this fault id.")
@click.option("--technique", help="Only notes that name this technique id.")
@click.option("--round", "round_number", type=click.IntRange(1), help="Only this round.")
@click.option("--since", type=Day(), help="From this day on, such as 2031-03-14.")
@click.option("--until", type=Day(), help="Up to this day.")
@click.option("--limit", type=click.IntRange(1), default=20, show_default=True, help="At most so many.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    query: str,
    athlete: str | None,
    kind: str | None,
    fault: str | None,
    technique: str | None,
    round_number: int | None,
    since: date | None,
    until: date | None,
    limit: int,
    as_json: bool,
) -> None:
    """Find notes by words, by what they mean, and by near spellings, over all sessions.

    \b
    Example: tapeside search "head on centreline" --athlete Mara
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        person = archive.athlete(athlete) if athlete else None
        filters = Filters(person, kind, fault, technique, round_number, since, until)
        results = search(archive, load_lexicon(home), query, filters, limit)
    if as_json:
        print_json(
            {
                "results": [
                    {
                        "observation": observation_json(r.kept.observation, timed=r.kept.timed, verdict=r.kept.verdict),
                        "score": r.score,
                        "matched": list(r.matched),
                    }
                    for r in results
                ]
            }
        )
    else:
        for result in results:
            o = result.kept.observation
            at = clock(o.footage_ms) if o.footage_ms is not None else clock(o.start_ms) + " of talk"
            click.echo(f"{o.athlete}, {result.kept.day}, {at}: {o.kind} {', '.join(o.faults or o.techniques)}")
            click.echo(f"    “{o.quote}”")
            click.echo(f"    {', '.join(result.matched)}   ({result.kept.recording}, {o.id})")
        if not results:
            click.echo(f"Nothing found for “{query}”.")
    ctx.exit(0 if results else 1)
