"""A recording into the log: heard, read and kept, for commands and desk alike."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.extract import file_sha256, read
from notes.model import Reading, Transcript
from notes.reading.second.reader import SecondReader
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json
from notes.times import TimeMap

Hear = Callable[[Path, str], Transcript]


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
    hear: Hear,
    *,
    footage: Path | None = None,
    playback: TimeMap | None = None,
) -> Taken:
    """Keep one recording, wholly or not at all. `hear` gives the words of a file and its SHA-256; `second` is asked for
    only where there is something to read. `playback` tells how the footage ran under the talk."""
    sha256 = file_sha256(recording)
    if known := archive.recording_name(sha256):
        return Taken(sha256, known_as=known)
    heard = replace(hear(recording, sha256), playback=playback)
    reading = read(heard, sheet, lexicon, recording.name, sha256, second())
    day = sheet.day or datetime.fromtimestamp(recording.stat().st_mtime).date()
    archive.add(reading, sheet, day, footage, transcript_json(heard), lexicon, recording.resolve())
    return Taken(sha256, reading=reading)
