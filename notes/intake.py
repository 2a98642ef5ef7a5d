"""A recording into the log: heard, read and kept, for commands and desk alike."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from lexicon import Lexicon, LexiconError, load
from lexicon.misheard import Mishearing, read_mishearings
from notes.archive.archive import Archive
from notes.errors import BadLexicon
from notes.extract import file_sha256, read
from notes.model import Reading, Transcript
from notes.reading.second.reader import SecondReader
from notes.settings import OWNER_LEXICON, OWNER_MISHEARD, cache_folder
from notes.sheet import Sheet
from notes.speech.models import Device
from notes.speech.terms import TradeWords
from notes.speech.transcripts import transcript_json
from notes.times import TimeMap

Progress = Callable[[int], None]


def load_lexicon(home: Path) -> Lexicon:
    """The vocabulary with the owner's additions from the home. Raises BadLexicon naming file and line."""
    try:
        return load(home / OWNER_LEXICON)
    except LexiconError as error:
        raise BadLexicon(str(error)) from None


def club_mishearings(home: Path) -> tuple[Mishearing, ...]:
    """What `lexicon hear` was taught in this home. Raises BadLexicon naming file and line."""
    try:
        return read_mishearings(home / OWNER_MISHEARD)
    except LexiconError as error:
        raise BadLexicon(str(error)) from None


def hear(
    path: Path, sha256: str, trade: TradeWords, progress: Progress, model: str, device: Device = "auto"
) -> Transcript:
    """The words of a recording, heard with the trade's in mind.

    Finished stretches of sound stay in the cache until `forget_heard`. `progress` is told ms of sound done.
    """
    from notes.speech.transcribe import transcribe

    slug = "".join(c if c.isalnum() else "-" for c in model)[-40:]
    return transcribe(path, model, trade, progress, _heard(sha256) / f"{slug}-{trade.key}", device)


def forget_heard(sha256: str) -> None:
    """Delete the stretches of a recording that were kept for an interrupted run; what came of them is safe."""
    shutil.rmtree(_heard(sha256), ignore_errors=True)


def _heard(sha256: str) -> Path:
    return cache_folder() / "heard" / sha256[:20]


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a recording. `known_as`: it was in the log already, under that name, and nothing changed."""

    sha256: str
    known_as: str | None = None
    reading: Reading | None = None


def take_in(
    archive: Archive,
    recording: Path,
    sheet: Sheet,
    lexicon: Lexicon,
    second: Callable[[], SecondReader | None],
    words_of: Callable[[Path, str], Transcript],
    footage: Path | None,
    playback: TimeMap | None = None,
) -> Taken:
    """Keep one recording, wholly or not at all.

    `words_of` gives the words of a file and its SHA-256, and `second` the second reader: both are asked only where the
    recording is new. `playback` tells how the footage ran under the talk.
    """
    sha256 = file_sha256(recording)
    if known := archive.recording_name(sha256):
        return Taken(sha256, known_as=known)
    heard = words_of(recording, sha256)
    if playback:
        heard = replace(heard, playback=playback)
    reading = read(heard, sheet, lexicon, recording.name, sha256, second())
    day = sheet.day or datetime.fromtimestamp(recording.stat().st_mtime).date()
    archive.add(reading, sheet, day, footage, transcript_json(heard), recording.resolve())
    forget_heard(sha256)
    return Taken(sha256, reading=reading)
