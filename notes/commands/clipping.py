"""Clips for a command: which files they are cut from, and cutting them with the progress shown."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import click

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.media import Media
from notes.commands.common import progress_bar
from notes.counting import many
from notes.errors import BadRecording, TapesideError
from notes.extract import file_sha256
from notes.report.clips import Manner, Sound, clip_file, write_clip
from notes.report.moments import Clip, plan_clips
from notes.speech.transcripts import is_transcript

# How long a clip goes on before and after its moment, unless told otherwise.
BEFORE_S, AFTER_S = 4.0, 6.0


@dataclass(frozen=True, slots=True)
class Files:
    """Where the footage is, and the narrations that can be heard, by SHA-256 of the recording."""

    footage: Mapping[str, Path]
    narrations: Mapping[str, Path]


def on_footage(notes: Iterable[Kept], media: Mapping[str, Media]) -> list[Kept]:
    """The notes whose moment on a footage is known."""
    return [k for k in notes if k.observation.footage_ms is not None and media[k.recording_sha256].footage]


def find_files(
    placed: Iterable[Kept], media: Mapping[str, Media], look_in: Path | None, sound: Sound | None, *, fast: bool
) -> Files:
    """The files of notes that are on footage; `look_in` is the folder of those that were moved.

    A narration that is not found is told, or raises BadRecording where `sound` asks for it, as missing footage does.
    """
    used = {k.recording_sha256: media[k.recording_sha256] for k in placed}
    footage = {sha256: _footage(of, look_in) for sha256, of in used.items()}
    narrations = {} if fast or sound == "footage" else _narrations(used, footage, look_in, needed=sound is not None)
    return Files(footage, narrations)


def cut_clips(
    clips: list[Clip], files: Files, manner: Manner, lexicon: Lexicon, out: Path, also: Iterable[Path] = ()
) -> list[Path]:
    """Cut the clips into a folder and say so; the files, in the same order.

    Raises TapesideError where one of them, or of the files that will be written `also`, is an original.
    """
    written = [clip_file(clip, files.footage[clip.media.sha256], manner, out) for clip in clips]
    _keep_originals([*written, *also], [*files.footage.values(), *files.narrations.values()])
    _make_folder(out)
    for clip, file in zip(clips, written, strict=True):
        with progress_bar(clip.end_ms - clip.start_ms, file.name) as done:
            new = write_clip(clip, files.footage[clip.media.sha256], manner, lexicon, file, done)
        click.echo(f"{file}: {_told(clip)}{'' if new else '; there already'}")
    return written


def clips_of(
    notes: Iterable[Kept], media: Mapping[str, Media], lexicon: Lexicon, out: Path, look_in: Path | None
) -> dict[str, str]:
    """Cut a clip, or one for several, of those notes that are on footage; the names of the files by the notes' ids."""
    placed = on_footage(notes, media)
    files = find_files(placed, media, look_in, None, fast=False)
    clips = plan_clips(placed, media, round(BEFORE_S * 1000), round(AFTER_S * 1000), heard=files.narrations)
    written = cut_clips(clips, files, Manner("both", files.narrations, burn=False, fast=False), lexicon, out)
    return {k.observation.id: file.name for clip, file in zip(clips, written, strict=True) for k in clip.notes}


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
    media: Mapping[str, Media], footage: Mapping[str, Path], look_in: Path | None, *, needed: bool
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
