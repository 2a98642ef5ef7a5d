"""`tapeside extract`"""

import json
from pathlib import Path

import click

from notes.commands.common import (
    FILE,
    device_option,
    first_only_option,
    hear,
    home_of,
    load_second_reader,
    model_option,
    print_json,
    sheet_option,
    tell_impossible,
    write_text,
)
from notes.counting import many
from notes.extract import file_sha256, read
from notes.intake import club_mishearings, forget_heard, load_lexicon
from notes.observations_json import reading_json
from notes.sheet import read_sheet
from notes.speech.models import Device
from notes.speech.terms import trade_words


@click.command(name="extract")
@click.argument("recording", type=FILE)
@sheet_option
@click.option("--out", type=FILE, help="Write the JSON there, not to the screen.")
@model_option
@device_option
@first_only_option
@click.pass_context
def command(
    ctx: click.Context,
    recording: Path,
    sheet: Path,
    out: Path | None,
    model: str,
    device: Device,
    first_reader_only: bool,
) -> None:
    """Read the observations in RECORDING (sound, video, captions or text) as JSON; keep nothing.

    \b
    Example: tapeside extract review.vtt --sheet review.yaml
    """
    facts = read_sheet(sheet)
    home = home_of(ctx)
    lexicon = load_lexicon(home)
    sha256 = file_sha256(recording)
    heard = hear(recording, model, trade_words(facts, lexicon, club_mishearings(home)), sha256, device)
    second = load_second_reader(lexicon, home, first_only=first_reader_only)
    reading = read(heard, facts, lexicon, recording.name, sha256, second)
    tell_impossible(reading)
    data = reading_json(reading, facts)
    if out:
        write_text(out, json.dumps(data, ensure_ascii=False, indent=1) + "\n")
        click.echo(f"{many(len(data['observations']), 'observation')} in {out}")
    else:
        print_json(data)
    forget_heard(sha256)
