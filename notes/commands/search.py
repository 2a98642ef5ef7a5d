"""`tapeside search`"""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import get_args

import click

from lexicon import Lexicon
from notes.archive.archive import Archive, Kept
from notes.archive.marking import marks_in
from notes.archive.search import Filters, Order, Result, search
from notes.commands.common import Day, home_of, json_option, print_json
from notes.intake import load_lexicon
from notes.model import Kind
from notes.observations_json import observation_json
from notes.times import clock

_LENGTH, _BEFORE = 180, 60


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
@click.option(
    "--order", type=click.Choice(get_args(Order)), default="best", show_default=True, help="What comes first."
)
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
    order: Order,
    as_json: bool,
) -> None:
    """Find notes by words, by what they mean, and by near spellings, over all sessions. Words "in quotes" must be said.

    \b
    Example: tapeside search "head on centreline" --athlete Mara
             tapeside search '"on the ropes" covering' --order newest
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        person = archive.athlete(athlete) if athlete else None
        filters = Filters(person, kind, fault, technique, round_number, since, until)
        vocabulary = load_lexicon(home)
        results = search(archive, vocabulary, query, filters, limit, order)
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
            click.echo(_told(result, vocabulary))
        if not results:
            click.echo(f"Nothing found for “{query}”.")
    ctx.exit(0 if results else 1)


def _told(result: Result, vocabulary: Lexicon) -> str:
    """A result in a few lines: who and what, the quote with the matching words bold, where it is, why it matched."""
    kept, o = result.kept, result.kept.observation
    ids = ", ".join(o.faults or o.techniques)
    round_number = f", round {o.round}" if o.round else ""
    return (
        f"{o.athlete}, {kept.day}{round_number}: {o.kind} {ids}\n"
        f"    “{_excerpt(o.quote, marks_in(o.quote, result.asked, vocabulary))}”\n"
        f"    at {_where(kept)}   [{o.id}]\n"
        f"    why: {'; '.join(result.matched)}"
    )


def _where(kept: Kept) -> str:
    """Footage and recording, each with its time where that is known."""
    o = kept.observation
    places = []
    if o.footage_ms is not None:
        places.append(f"{clock(o.footage_ms)} of {Path(kept.footage).name if kept.footage else 'the footage'}")
    places.append(f"{clock(o.start_ms)} of {kept.recording}" if kept.timed else kept.recording)
    return ", ".join(places)


def _excerpt(quote: str, marks: Sequence[tuple[int, int]]) -> str:
    """The part of a quote around its first mark, marks in bold (where the output is a terminal)."""
    first = max(0, marks[0][0] - _BEFORE) if marks and len(quote) > _LENGTH else 0
    first = quote.find(" ", first) + 1 if first else 0
    last = len(quote) if len(quote) <= first + _LENGTH else quote.rfind(" ", first, first + _LENGTH)
    last = last if last > first else first + _LENGTH
    parts, at = [], first
    for start, end in marks:
        if at <= start and end <= last:
            parts += [quote[at:start], click.style(quote[start:end], bold=True)]
            at = end
    return ("… " if first else "") + "".join(parts) + quote[at:last] + (" …" if last < len(quote) else "")
