"""`tapeside demo`"""

import tempfile
from contextlib import suppress
from functools import cache
from importlib.resources import files
from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.archive.exposure import exposure, watched_of
from notes.archive.media import media_of
from notes.archive.search import Filters, search
from notes.commands.add import add_recording
from notes.commands.clipping import clips_of
from notes.commands.common import load_second_reader, model_option
from notes.commands.log import command as log_command
from notes.intake import load_lexicon
from notes.report.critique import make_critique
from notes.report.letter import Shown, critique_document
from notes.report.markdown import write_blocks
from notes.report.paper import write_paper
from notes.report.pictures import pictures_of
from notes.sheet import read_sheet
from notes.times import clock

QUERY = "head on centreline"


@click.command(name="demo")
@model_option
@click.pass_context
def command(ctx: click.Context, model: str) -> None:
    """Run the main job on the packaged demo, from sound to critique, in a throw-away home.

    \b
    Example: tapeside demo
    """
    home = Path(tempfile.mkdtemp(prefix="tapeside-demo-"))
    ctx.find_root().obj = home
    with Archive(home) as archive:
        _run(ctx, Path(str(files("demo_audio"))), archive, home, model)


def _run(ctx: click.Context, folder: Path, archive: Archive, home: Path, model: str) -> None:
    lexicon = load_lexicon(home)
    second = cache(lambda: load_second_reader(lexicon, home, first_only=False))
    sheets = {name: folder / f"{name}.sheet.yaml" for name in ("review", "memo")}
    facts = read_sheet(sheets["review"])
    athlete = facts.athletes[0].name
    _step(1, f"The sheet says who is on the footage: {athlete}, {facts.sport}, {facts.narration} narration.")
    click.echo(sheets["review"].read_text(encoding="utf-8").rstrip())
    _step(2, "Listen to two recordings, read what is judged in them, and keep it in the log.")
    for name, sheet in sheets.items():
        click.echo(add_recording(archive, folder / f"{name}.opus", sheet, read_sheet(sheet), lexicon, second, model))
    person = archive.athlete(athlete)
    notes = archive.observations_of(person)
    _step(3, "Some of what was read, with the words it was read from.")
    for kept in notes[:6]:
        o = kept.observation
        at = clock(o.footage_ms) if o.footage_ms is not None else "-"
        click.echo(f"  {at:>5}  {o.kind}: {', '.join(o.faults or o.techniques) or 'as said'}\n         “{o.quote}”")
    _step(4, f"Search by meaning: “{QUERY}”.")
    for result in search(archive, lexicon, QUERY, Filters(athlete=person), limit=3):
        click.echo(f"  “{result.kept.observation.quote}”  ({', '.join(result.matched)})")
    day = archive.days_of(person)[-1]
    critique = make_critique(person, notes, exposure(watched_of(archive, person)), lexicon, day, day)
    _step(5, "What to work on first, cut from the footage, with the coach's voice.")
    quotes = [point.quote for point in critique.points]
    media = media_of(archive, (kept.recording_sha256 for kept in quotes))
    clips = clips_of(quotes[:2], media, lexicon, home / "clips", None)
    paper = critique_document(critique, lexicon, Shown(pictures_of(quotes), clips))
    out = home / f"{athlete.lower()}-critique.pdf"
    write_paper(paper, out)
    _step(6, f"The critique, for {athlete} to take away.")
    click.echo("\n\n".join(write_blocks(section.blocks) for section in paper.sections))
    _step(7, "The fault log.")
    with suppress(click.exceptions.Exit):
        ctx.invoke(log_command, athlete=athlete)
    click.echo(
        f"\nThe critique is in {out}, its clips in {home / 'clips'}\nThis home is thrown away with its folder: {home}"
    )


def _step(number: int, text: str) -> None:
    click.echo(f"\n{number}. {text}\n")
