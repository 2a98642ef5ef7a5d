"""`tapeside clips`"""

import re
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import get_args

import click

from notes.archive.archive import Archive
from notes.archive.entries import Kept
from notes.archive.media import Media, media_of
from notes.commands.common import FILE, Day, home_of, progress_bar
from notes.counting import many
from notes.errors import BadRecording, TapesideError
from notes.extract import file_sha256
from notes.intake import load_lexicon
from notes.report.clips import Manner, Sound, clip_file, write_clip, write_reel
from notes.report.moments import Clip, plan_clips
from notes.report.reel import CARD_S
from notes.speech.transcripts import is_transcript

_ID = re.compile(r"[0-9a-f]{12}")


@click.command(name="clips")
@click.argument("athletes_or_ids", metavar="ATHLETE|ID...", nargs=-1, required=True)
@click.option("--out", type=FILE, required=True, help="Folder for the clips; made where it is not there.")
@click.option("--before", type=click.FloatRange(0, 600), default=4.0, show_default=True, help="Seconds before.")
@click.option("--after", type=click.FloatRange(0.1, 600), default=6.0, show_default=True, help="Seconds after.")
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
    placed = [k for k in notes if k.observation.footage_ms is not None and media[k.recording_sha256].footage]
    if len(placed) < len(notes):
        click.echo(f"{len(notes) - len(placed)} of {many(len(notes), 'note')} without a moment on footage.", err=True)
    if not placed:
        click.echo("Nothing to cut.", err=True)
        ctx.exit(1)
    media = {k.recording_sha256: media[k.recording_sha256] for k in placed}
    footage = {sha256: _footage(of, look_in) for sha256, of in media.items()}
    narrations = {} if fast or sound == "footage" else _narrations(media, footage, look_in, needed=sound is not None)
    manner = Manner(sound or "both", narrations, burn, fast)
    clips = plan_clips(placed, media, round(before * 1000), round(after * 1000), heard=narrations)
    files = [clip_file(clip, footage[clip.media.sha256], manner, out) for clip in clips]
    _keep_originals([*files, *([reel] if reel else [])], [*footage.values(), *narrations.values()])
    _make_folder(out)
    for clip, file in zip(clips, files, strict=True):
        with progress_bar(clip.end_ms - clip.start_ms, file.name) as done:
            new = write_clip(clip, footage[clip.media.sha256], manner, lexicon, file, done)
        click.echo(f"{file}: {_told(clip)}{'' if new else '; there already'}")
    if fast:
        click.echo("Copied, not encoded: each clip begins at the last keyframe before its moment's stretch.")
    if reel:
        length = sum(c.end_ms - c.start_ms for c in clips) + len(clips) * int(CARD_S * 1000)
        with progress_bar(length, reel.name) as done:
            write_reel(clips, files, manner, lexicon, reel, done)
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


def _footage(media: Media, look_in: Path | None) -> Path:
    path = media.footage
    if path is None:
        raise ValueError("only notes with footage are cut")
    found = path if path.is_file() else look_in / path.name if look_in else path
    if not found.is_file():
        raise BadRecording(
            f'The footage "{found}" of "{media.recording}" is not there; put it back, '
            "or name the folder where it lies now with --look-in"
        )
    return found


def _narrations(
    media: dict[str, Media], footage: dict[str, Path], look_in: Path | None, *, needed: bool
) -> dict[str, Path]:
    """The recordings themselves, by SHA-256: where they lay, or beside the footage. Footage may be its own."""
    found = {}
    for sha256, of in media.items():
        if is_transcript(Path(of.recording)):
            if needed:
                raise BadRecording(f'"{of.recording}" was added as text, without a voice; use --sound footage')
            continue
        folders = [footage[sha256].parent, *([look_in] if look_in else [])]
        places = [*([of.path] if of.path else []), *(folder / of.recording for folder in folders)]
        same = next((file for file in places if file.is_file() and file_sha256(file) == sha256), None)
        if same:
            found[sha256] = same
            continue
        missing = (
            f'The narration "{of.recording}" is not where it was, nor beside the footage "{footage[sha256]}"; '
            "put it there, or name the folder where it lies with --look-in"
        )
        if needed:
            raise BadRecording(missing)
        click.echo(f"{missing}. Its clips have the sound of the footage alone.", err=True)
    return found


def _keep_originals(written: list[Path], originals: list[Path]) -> None:
    known = {original.resolve() for original in originals}
    for path in written:
        if path.resolve() in known:
            raise TapesideError(f'"{path}" is an original and would be written over; choose another --out or --reel')


def _make_folder(out: Path) -> None:
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise TapesideError(f'Cannot make the folder "{out}" ({error.strerror}); choose another with --out') from None


def _told(clip: Clip) -> str:
    return f"{(clip.end_ms - clip.start_ms) / 1000:.1f} s, {many(len(clip.notes), 'note')}"
