"""What several commands share: the vocabulary, hearing with a progress bar, options."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lexicon import Lexicon
from notes import intake
from notes.commands.listening import Listening
from notes.errors import TapesideError
from notes.model import Reading, Transcript
from notes.settings import find_home
from notes.speech.audio import sound_length_ms
from notes.speech.models import DEFAULT, Device, load_model
from notes.speech.terms import TradeWords
from notes.speech.transcripts import is_transcript, read_transcript
from notes.times import clock

if TYPE_CHECKING:
    from notes.reading.second.reader import SecondReader

# Whether a file can be read is told by whoever reads it, in one sentence.
FILE = click.Path(path_type=Path, readable=False)

sheet_option = click.option(
    "--sheet", type=FILE, required=True, help="The sheet: who and what is on the footage (YAML)."
)
model_option = click.option(
    "--model",
    default=DEFAULT,
    show_default=True,
    help="Speech model: base, tiny.en, a folder, or a hub name (fetched from the internet).",
)
device_option = click.option(
    "--device",
    type=click.Choice(["auto", "cpu", "cuda"]),
    default="auto",
    show_default=True,
    help="Where to hear: auto takes a CUDA device if one can be used.",
)
first_only_option = click.option(
    "--first-reader-only", is_flag=True, help="Read by the vocabulary's patterns alone, without the learned model."
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


class Day(click.ParamType[date]):
    """A day, 2031-03-14."""

    name = "day"

    def convert(self, value: str | date, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """The day that was typed."""
        try:
            return value if isinstance(value, date) else date.fromisoformat(value)
        except ValueError:
            self.fail(f'"{value}" is not a day; write it like 2031-03-14', param, ctx)


def home_of(ctx: click.Context) -> Path:
    """The data home of this run."""
    return find_home(ctx.find_root().obj)


def hear(
    path: Path,
    model: str,
    trade: TradeWords,
    sha256: str,
    device: Device = "auto",
    listening: Listening | None = None,
) -> Transcript:
    """The words of a transcript file, or of a recording with a progress bar on stderr: its own, or one for several.

    What was not taken for speech is told on stderr.
    """
    if is_transcript(path):
        return read_transcript(path)
    length = sound_length_ms(path)
    load_model(model, device)
    with nullcontext(listening) if listening else Listening(length) as bar:
        bar.start(path.name, length)
        heard = intake.hear(path, sha256, trade, bar.heard, model, device)
    for lost in heard.dropped:
        at = clock(lost.start_ms)
        bar.tell(f"{path.name}: {at}: not taken for speech, {lost.reason}: “{lost.text}”", err=True)
    if not heard.segments:
        bar.tell(f"{path.name}: no speech found", err=True)
    return heard


def load_second_reader(lexicon: Lexicon, home: Path, *, first_only: bool) -> "SecondReader | None":
    """The second reader, as the home's club has taught it, unless it is not wanted or not there; then a sentence on
    stderr says what is less good."""
    if first_only:
        click.echo(f"Read by the first reader alone: {_WITHOUT}", err=True)
        return None
    from notes.reading.second.reader import second_reader

    if (second := second_reader(lexicon, home)) is None:
        click.echo(f"The second reader's weights are missing from this installation; {_WITHOUT}", err=True)
    return second


_WITHOUT = "remarks in unforeseen words are missed, and one in three ids is another than a person would choose."


def tell_impossible(reading: Reading) -> None:
    """Report spoken times past their round's end on stderr."""
    for quote in reading.impossible:
        click.echo(f"{reading.recording}: this time is past the round's end and was not used: “{quote}”", err=True)


@contextmanager
def progress_bar(length: int, label: str) -> Iterator[Any]:
    """A bar with the time left on stderr, moved on by its parts; silent where stderr is no terminal."""
    with click.progressbar(length=length, label=label, show_eta=True, file=sys.stderr) as bar:
        yield bar.update


def print_json(data: Any) -> None:
    """JSON on stdout."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=1))


def write_text(path: Path, text: str) -> None:
    """Write a result file. Raises TapesideError where that fails."""
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise TapesideError(f'Cannot write "{path}" ({error.strerror})') from None
