"""`tapeside add`"""

from datetime import date, datetime
from pathlib import Path

import click

from lexicon import Lexicon
from lexicon.misheard import Mishearing
from notes.archive.archive import Archive
from notes.commands.common import (
    FILE,
    club_mishearings,
    first_only_option,
    hear,
    home_of,
    load_lexicon,
    load_second_reader,
    model_option,
    sheet_option,
    tell_impossible,
)
from notes.extract import file_sha256, read
from notes.reading.second.reader import SecondReader
from notes.sheet import Sheet, read_sheet
from notes.speech.terms import trade_words
from notes.speech.transcripts import transcript_json

VIDEO_ENDINGS = frozenset({".mp4", ".mov", ".mkv", ".webm", ".avi", ".m4v", ".mts", ".3gp"})


@click.command(name="add")
@click.argument("recordings", type=FILE, nargs=-1, required=True)
@sheet_option
@model_option
@first_only_option
@click.pass_context
def command(ctx: click.Context, recordings: tuple[Path, ...], sheet: Path, model: str, first_reader_only: bool) -> None:
    """Keep the observations in RECORDINGS in the log.

    A recording that is in the log already is left alone; an interrupted run goes on where it stopped.

    \b
    Example: tapeside add monday.m4a --sheet monday.yaml
    """
    facts = read_sheet(sheet)
    home = home_of(ctx)
    with Archive(home) as archive:
        lexicon = load_lexicon(home)
        club = club_mishearings(home)
        second = load_second_reader(lexicon, first_only=first_reader_only)
        for recording in recordings:
            click.echo(add_recording(archive, recording, sheet, facts, lexicon, second, model, club))


def add_recording(
    archive: Archive,
    recording: Path,
    sheet_path: Path,
    sheet: Sheet,
    lexicon: Lexicon,
    second: SecondReader | None,
    model: str,
    club: tuple[Mishearing, ...] = (),
) -> str:
    """Keep one recording; the line that tells what was done."""
    sha256 = file_sha256(recording)
    if known := archive.recording_name(sha256):
        return f'{recording.name}: in the log already (as "{known}"); nothing changed'
    heard = hear(recording, model, trade_words(sheet, lexicon, club), sha256)
    reading = read(heard, sheet, lexicon, recording.name, sha256, second)
    tell_impossible(reading)
    archive.add(
        reading,
        sheet,
        sheet.day or _own_date(recording),
        _footage(recording, sheet_path, sheet),
        transcript_json(heard),
        lexicon,
    )
    counts = {
        a.name: sum(o.athlete == a.name and o.role == "athlete" for o in reading.observations) for a in sheet.athletes
    }
    told = ", ".join(f"{name} {count}" for name, count in counts.items())
    return f"{recording.name}: kept; observations: {told}"


def _own_date(recording: Path) -> date:
    return datetime.fromtimestamp(recording.stat().st_mtime).date()


def _footage(recording: Path, sheet_path: Path, sheet: Sheet) -> Path | None:
    """The sheet's footage, beside the sheet; a video added as the recording is its own."""
    if sheet.footage:
        return (sheet_path.parent / sheet.footage).resolve()
    return recording.resolve() if recording.suffix.lower() in VIDEO_ENDINGS else None
