"""A recording or a transcript into a Reading: one way, for commands, desk and bulk alike."""

import hashlib
from collections.abc import Callable
from pathlib import Path

from lexicon import Lexicon
from notes.errors import BadRecording
from notes.model import Reading, Transcript
from notes.reading.observations import read_review
from notes.reading.second.reader import SecondReader
from notes.sheet import Sheet

Progress = Callable[[int], None]


def file_sha256(path: Path) -> str:
    """Fingerprint of a file's bytes. Raises BadRecording when it cannot be read."""
    try:
        with path.open("rb") as source:
            return hashlib.file_digest(source, "sha256").hexdigest()
    except FileNotFoundError:
        raise BadRecording(f'No such file: "{path}"; check the name') from None
    except IsADirectoryError:
        raise BadRecording(f'"{path}" is a folder; name the recording in it') from None
    except OSError as error:
        raise BadRecording(f'Cannot read "{path}" ({error.strerror})') from None


def read(
    transcript: Transcript,
    sheet: Sheet,
    lexicon: Lexicon,
    recording: str,
    sha256: str,
    second: SecondReader | None = None,
) -> Reading:
    """What a transcript holds, each observation with its id; by the first reader alone where `second` is None."""
    review = read_review(transcript, sheet, lexicon, second)
    logged = {o.id: o for o in (o.with_id(sha256) for o in review.observations)}
    unsure = {o.id: o for o in (o.with_id(sha256) for o in review.perhaps) if o.id not in logged}
    model = second.sha256 if second else None
    return Reading(
        recording,
        sha256,
        transcript,
        lexicon.sha256,
        tuple(logged.values()),
        tuple(unsure.values()),
        review.impossible,
        model,
    )
