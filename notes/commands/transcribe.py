"""`tapeside transcribe`"""

from pathlib import Path

import click

from notes.commands.common import FILE, device_option, hear, home_of, model_option
from notes.counting import many
from notes.extract import file_sha256
from notes.intake import club_mishearings, forget_heard, load_lexicon
from notes.sheet import read_sheet
from notes.speech.models import Device
from notes.speech.terms import trade_words
from notes.speech.transcripts import check_ending, write_transcript


@click.command(name="transcribe")
@click.argument("recording", type=FILE)
@click.option("--out", type=FILE, required=True, help="F.vtt, F.srt, F.txt or F.json.")
@click.option("--sheet", type=FILE, help="The sheet; its names and sport help the recogniser.")
@model_option
@device_option
@click.pass_context
def command(ctx: click.Context, recording: Path, out: Path, sheet: Path | None, model: str, device: Device) -> None:
    """Turn the speech of RECORDING (sound or video) into text with word times.

    \b
    Example: tapeside transcribe review.m4a --sheet review.yaml --out review.vtt
    """
    check_ending(out)
    facts = read_sheet(sheet) if sheet else None
    home, sha256 = home_of(ctx), file_sha256(recording)
    trade = trade_words(facts, load_lexicon(home), club_mishearings(home))
    heard = hear(recording, model, trade, sha256, device)
    write_transcript(heard, out)
    forget_heard(sha256)
    if heard.segments:
        click.echo(f"{many(len(heard.segments), 'sentence')} in {out}")
