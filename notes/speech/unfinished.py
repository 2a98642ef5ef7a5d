"""Stretches heard so far of a recording that is not finished yet, so that an interrupted run goes on behind them."""

import hashlib
import json
import os
import shutil
from collections.abc import Sequence
from dataclasses import astuple
from pathlib import Path
from typing import Any

from notes.model import Segment, Word
from notes.speech.audio import Stretch

_FORM = "tapeside-stretch/1"


class Unfinished:
    """A folder with one file for each stretch. A file counts only if it is whole and was made from the same sound."""

    def __init__(self, folder: Path):
        self._folder = folder

    def load(self, stretch: Stretch) -> list[Segment] | None:
        """What was heard in a stretch; None where that is not known, or the file is torn or foreign."""
        try:
            kept = json.loads(self._file(stretch).read_bytes())
            rows = kept["segments"]
            if kept["checked"] != _checksum(stretch, rows):
                return None
            return [Segment(a, b, text, tuple(Word(*word) for word in words)) for a, b, text, words in rows]
        except (OSError, ValueError, TypeError, KeyError):
            return None

    def save(self, stretch: Stretch, segments: Sequence[Segment]) -> None:
        """Keep what was heard; after a return it outlives a loss of power. Raises OSError."""
        rows = [[s.start_ms, s.end_ms, s.text, [list(astuple(w)) for w in s.words]] for s in segments]
        self._folder.mkdir(parents=True, exist_ok=True)
        file = self._file(stretch)
        writing = file.with_suffix(f".{os.getpid()}")
        with writing.open("w", encoding="utf-8") as out:
            json.dump({"checked": _checksum(stretch, rows), "segments": rows}, out)
            out.flush()
            os.fsync(out.fileno())
        writing.replace(file)
        if hasattr(os, "O_DIRECTORY"):
            folder = os.open(self._folder, os.O_RDONLY | os.O_DIRECTORY)
            try:
                os.fsync(folder)  # the name too must reach the disk
            finally:
                os.close(folder)

    def forget(self) -> None:
        """Delete the folder; the whole is finished."""
        shutil.rmtree(self._folder, ignore_errors=True)

    def _file(self, stretch: Stretch) -> Path:
        return self._folder / f"{stretch.start_ms:09}.json"


def _checksum(stretch: Stretch, rows: list[Any]) -> str:
    digest = hashlib.sha256(f"{_FORM} {stretch.start_ms} {json.dumps(rows)}".encode())
    digest.update(stretch.samples.tobytes())
    return digest.hexdigest()
