"""`tapeside chapters`"""

from datetime import date
from pathlib import Path

import click

from notes.archive.archive import Archive
from notes.archive.media import media_of
from notes.commands.common import FILE, Day, home_of
from notes.counting import many
from notes.errors import TapesideError
from notes.intake import load_lexicon
from notes.report.chapters import review_captions, review_chapters
from notes.report.clips import write_captions


@click.command(name="chapters")
@click.argument("athlete")
@click.option("--session", type=Day(), help="The day of the session; default: the newest.")
@click.option("--out", type=FILE, required=True, help="Folder for the .vtt files; made where it is not there.")
@click.pass_context
def command(ctx: click.Context, athlete: str, session: date | None, out: Path) -> None:
    """Write captions and chapters of ATHLETE's review, as WebVTT for a player of the footage.

    Chapters are the rounds and the notes on ATHLETE in them.

    \b
    Example: tapeside chapters Mara --out sparring
    """
    home = home_of(ctx)
    with Archive(home) as archive:
        person = archive.athlete(athlete)
        day = session or archive.days_of(person)[-1]
        notes = [k for k in archive.observations_of(person) if k.day == day and k.observation.footage_ms is not None]
        media = media_of(archive, (kept.recording_sha256 for kept in notes))
    if not notes:
        click.echo(f"No note on {person.name} of {day} has a moment on footage.", err=True)
        ctx.exit(1)
    lexicon = load_lexicon(home)
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise TapesideError(f'Cannot make the folder "{out}" ({error.strerror}); choose another with --out') from None
    for sha256, of in media.items():
        mine = [kept for kept in notes if kept.recording_sha256 == sha256]
        stem = Path(of.recording).stem
        for kind, cues in (
            ("caption", review_captions(of, mine)),
            ("chapter", review_chapters(of, mine, lexicon)),
        ):
            path = out / f"{stem}.{kind}s.vtt"
            write_captions(cues, path)
            click.echo(f"{path}: {many(len(cues), kind)}")
