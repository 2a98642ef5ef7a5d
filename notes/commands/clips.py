"""`tapeside clips`"""

import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import get_args

import click

from notes.archive.archive import Archive
from notes.archive.entries import Kept
from notes.archive.media import media_of
from notes.commands.clipping import AFTER_S, BEFORE_S, cut_clips, find_files, on_footage
from notes.commands.common import FILE, Day, home_of, progress_bar
from notes.counting import many
from notes.errors import TapesideError
from notes.intake import load_lexicon
from notes.report.clips import Manner, Sound, write_reel
from notes.report.moments import plan_clips
from notes.report.reel import CARD_S

_ID = re.compile(r"[0-9a-f]{12}")


@click.command(name="clips")
@click.argument("athletes_or_ids", metavar="ATHLETE|ID...", nargs=-1, required=True)
@click.option("--out", type=FILE, required=True, help="Folder for the clips; made where it is not there.")
@click.option("--before", type=click.FloatRange(0, 600), default=BEFORE_S, show_default=True, help="Seconds before.")
@click.option("--after", type=click.FloatRange(0.1, 600), default=AFTER_S, show_default=True, help="Seconds after.")
@click.option("--session", type=Day(), help="Only the notes of this day.")
@click.option("--reel", type=FILE, help="F.mp4: also all clips in one film, with title cards.")
@click.option(
    "--sound",
    type=click.Choice(get_args(Sound)),
    help="What is heard; default: both, as far as they are there.",
)
@click.option("--burn", is_flag=True, help="Burn the captions into the picture instead of a .vtt file beside.")
@click.option("--fast", is_flag=True, help="Copy instead of encoding anew: quick, but cuts fall on keyframes.")
@click.option("--look-in", type=FILE, help="Folder where footage and recordings that were moved lie now.")
@click.pass_context
def command(
    ctx: click.Context,
    athletes_or_ids: tuple[str, ...],
    out: Path,
    before: float,
    after: float,
    session: date | None,
    reel: Path | None,
    sound: Sound | None,
    burn: bool,
    fast: bool,
    look_in: Path | None,
) -> None:
    """Cut the moments of an athlete, or of the notes with these ids, from the footage.

    Clips that were cut already in the same way are left alone; an interrupted run goes on where it stopped.

    \b
    Example: tapeside clips Mara --out clips --reel mara.mp4
    """
    if fast and (burn or reel or sound in ("narration", "both")):
        raise click.UsageError("--fast copies picture and sound as they are; leave out --burn, --reel and --sound.")
    if reel and reel.suffix.lower() != ".mp4":
        raise click.UsageError(f'The reel "{reel}" must end in .mp4.')
    home = home_of(ctx)
    with Archive(home) as archive:
        notes = _notes(archive, athletes_or_ids, session)
        media = media_of(archive, (kept.recording_sha256 for kept in notes))
    lexicon = load_lexicon(home)
    placed = on_footage(notes, media)
    if len(placed) < len(notes):
        click.echo(f"{many(len(notes) - len(placed), 'note')} of {len(notes)} without a moment on footage.", err=True)
    if not placed:
        click.echo("Nothing to cut.", err=True)
        ctx.exit(1)
    files = find_files(placed, media, look_in, sound, fast=fast)
    manner = Manner(sound or "both", files.narrations, burn, fast)
    clips = plan_clips(placed, media, round(before * 1000), round(after * 1000), heard=files.narrations)
    cut = cut_clips(clips, files, manner, lexicon, out, also=[reel] if reel else [])
    if fast:
        click.echo("Copied, not encoded: each clip begins at the last keyframe before its moment's stretch.")
    if reel:
        length = sum(c.end_ms - c.start_ms for c in clips) + len(clips) * int(CARD_S * 1000)
        with progress_bar(length, reel.name) as done:
            write_reel(clips, cut, manner, lexicon, reel, done)
        click.echo(f"{reel}: {many(len(clips), 'clip')} with title cards")


def _notes(archive: Archive, words: Iterable[str], session: date | None) -> list[Kept]:
    """The notes that are meant. Of an athlete, signs that somebody may be hurt are no clips to hand round."""
    notes: dict[str, Kept] = {}
    for word in words:
        if _ID.fullmatch(word):
            found = archive.observations([word])
            if not found:
                raise TapesideError(
                    f'No note with the id "{word}" in the log; `tapeside search` and `log --json` show ids'
                )
        else:
            every = archive.observations_of(archive.athlete(word))
            found = {k.observation.id: k for k in every if k.observation.kind != "welfare"}
            if len(found) < len(every):
                click.echo("Welfare notes are left out; name their ids to cut them too.", err=True)
        notes |= {id_: kept for id_, kept in found.items() if session in (None, kept.day)}
    return list(notes.values())
