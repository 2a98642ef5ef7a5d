"""`tapeside critique`"""

from datetime import date
from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.archive.exposure import exposure, watched_of
from notes.archive.media import media_of
from notes.commands.clipping import clips_of
from notes.commands.common import FILE, Day, home_of
from notes.intake import load_lexicon
from notes.report.critique import make_critique
from notes.report.edits import Edits
from notes.report.letter import Shown, critique_document
from notes.report.paper import check_ending, write_paper
from notes.report.pictures import pictures_of, plot_of


@click.command(name="critique")
@click.argument("athlete")
@click.option("--session", type=Day(), help="The day of the session; default: the newest.")
@click.option("--since", type=Day(), help="Instead of one session, all from this day on.")
@click.option("--until", type=Day(), help="Up to this day.")
@click.option("--edited", type=FILE, help="The same critique as F.md with your changes; they are taken over.")
@click.option("--clips", type=FILE, help="Also cut a clip for each thing to work on into this folder, and name it.")
@click.option("--look-in", type=FILE, help="Folder where footage and recordings that were moved lie now.")
@click.option("--out", type=FILE, required=True, help="F.md, F.html, F.pdf or F.docx.")
@click.pass_context
def command(
    ctx: click.Context,
    athlete: str,
    session: date | None,
    since: date | None,
    until: date | None,
    edited: Path | None,
    clips: Path | None,
    look_in: Path | None,
    out: Path,
) -> None:
    """Write the critique of one session, or of a span, for ATHLETE.

    Change any words of the F.md form: what you changed stays when the critique is made again, and `--edited F.md` takes
    it into the other forms.

    \b
    Example: tapeside critique Mara --clips clips --out mara.pdf
    """
    check_ending(out)
    if session and (since or until):
        raise click.UsageError("Give either --session or --since and --until.")
    home = home_of(ctx)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        person = archive.athlete(athlete)
        notes = archive.observations_of(person)
        newest = session or (archive.days_of(person)[-1] if not (since or until) else None)
        first, last = newest or since, newest or until
        watched = exposure(w for w in watched_of(archive, person) if last is None or w.day <= last)
        critique = make_critique(person, notes, watched, lexicon, first, last)
        quotes = [point.quote for point in critique.points]
        media = media_of(archive, (kept.recording_sha256 for kept in quotes)) if clips else {}
    if not critique.days:
        click.echo(f"Nothing in the log of {person.name} for {_span(first, last)}.", err=True)
        ctx.exit(1)
    names = clips_of(quotes, media, lexicon, clips, look_in) if clips else {}
    shown = Shown(pictures_of(quotes), names, plot_of(critique))
    edits = write_paper(critique_document(critique, lexicon, shown), out, edited)
    click.echo(f"Critique of {person.name}, {_span(critique.days[0], critique.days[-1])}: {out}")
    tell_edits(edits)


def tell_edits(edits: Edits) -> None:
    """Say which parts of a paper are a person's own words."""
    if edits.changed:
        click.echo(f"Kept as you changed them: {', '.join(edits.changed)}")
    if edits.removed:
        click.echo(f"Left out as you did: {', '.join(sorted(edits.removed))}")


def _span(first: date | None, last: date | None) -> str:
    if first == last:
        return str(first)
    return " ".join(f"{word} {on}" for word, on in (("from", first), ("to", last)) if on)
