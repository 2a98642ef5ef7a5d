"""`tapeside add`"""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import click

from lexicon import Lexicon
from lexicon.misheard import Mishearing
from notes.archive.archive import Archive
from notes.commands.common import (
    FILE,
    device_option,
    first_only_option,
    hear,
    home_of,
    load_second_reader,
    model_option,
    sheet_option,
    tell_impossible,
)
from notes.commands.listening import Listening
from notes.errors import BadRecording, BadTranscript
from notes.extract import file_sha256
from notes.intake import club_mishearings, load_lexicon, take_in
from notes.reading.second.reader import SecondReader
from notes.sheet import Sheet, read_sheet
from notes.speech.audio import sound_length_ms
from notes.speech.models import Device
from notes.speech.terms import trade_words
from notes.speech.transcripts import is_transcript

VIDEO_ENDINGS = frozenset({".mp4", ".mov", ".mkv", ".webm", ".avi", ".m4v", ".mts", ".3gp"})


@click.command(name="add")
@click.argument("recordings", type=FILE, nargs=-1, required=True)
@sheet_option
@model_option
@device_option
@first_only_option
@click.pass_context
def command(
    ctx: click.Context,
    recordings: tuple[Path, ...],
    sheet: Path,
    model: str,
    device: Device,
    first_reader_only: bool,
) -> None:
    """Keep the observations in RECORDINGS in the log.

    A recording that is in the log already is left alone; an interrupted run goes on where it stopped. One that cannot
    be read is told, and does not stop the others; the exit code is then 2.

    \b
    Example: tapeside add monday.m4a --sheet monday.yaml
    """
    facts = read_sheet(sheet)
    home = home_of(ctx)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        club = club_mishearings(home)
        second = cache(lambda: load_second_reader(lexicon, home, first_only=first_reader_only))
        refused = False
        with Listening(sum(_length_to_hear(archive, recording) for recording in recordings)) as bar:
            for recording in recordings:
                try:
                    bar.tell(add_recording(archive, recording, sheet, facts, lexicon, second, model, device, bar, club))
                except (BadRecording, BadTranscript) as error:
                    refused = True
                    bar.tell(f"tapeside: {error}", err=True)
    ctx.exit(2 if refused else 0)


def _length_to_hear(archive: Archive, recording: Path) -> int:
    """ms of sound that must be listened to; none of what is words already, in the log, or cannot be read."""
    try:
        if is_transcript(recording) or archive.recording_name(file_sha256(recording)):
            return 0
        return sound_length_ms(recording)
    except BadRecording:
        return 0


def add_recording(
    archive: Archive,
    recording: Path,
    sheet_path: Path,
    sheet: Sheet,
    lexicon: Lexicon,
    second: Callable[[], SecondReader | None],
    model: str,
    device: Device = "auto",
    listening: Listening | None = None,
    club: tuple[Mishearing, ...] = (),
) -> str:
    """Keep one recording; the line that tells what was done. `second` is asked only when there is talk to read."""
    taken = take_in(
        archive,
        recording,
        sheet,
        lexicon,
        second,
        lambda path, sha256: hear(path, model, trade_words(sheet, lexicon, club), sha256, device, listening),
        _footage(recording, sheet_path, sheet),
    )
    if taken.reading is None:
        return f'{recording.name}: in the log already (as "{taken.known_as}"); nothing changed'
    tell_impossible(taken.reading)
    counts = {
        a.name: sum(o.athlete == a.name and o.role == "athlete" for o in taken.reading.observations)
        for a in sheet.athletes
    }
    told = ", ".join(f"{name} {count}" for name, count in counts.items())
    return f"{recording.name}: kept; observations: {told}"


def _footage(recording: Path, sheet_path: Path, sheet: Sheet) -> Path | None:
    """The sheet's footage, beside the sheet; a video added as the recording is its own."""
    if sheet.footage:
        return (sheet_path.parent / sheet.footage).resolve()
    return recording.resolve() if recording.suffix.lower() in VIDEO_ENDINGS else None
