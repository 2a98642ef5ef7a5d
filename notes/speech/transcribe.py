"""A recording to words with times, stretch by stretch."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from notes.model import Segment, Transcript, Word
from notes.speech.audio import read_stretches
from notes.speech.hearing import Hearing
from notes.speech.models import load_model
from notes.speech.terms import TradeWords

Progress = Callable[[int], None]


def transcribe(
    path: Path,
    model_name: str,
    trade: TradeWords,
    progress: Progress,
    kept: Path | None = None,
) -> Transcript:
    """The words of a recording. `progress` is told the ms of sound done since it was last called.

    With `kept`, a folder of this recording and model alone, finished stretches are kept there and an interrupted
    run goes on behind the last of them. Raises BadRecording and BadModel.
    """
    hearing = Hearing(load_model(model_name), trade)
    segments: list[Segment] = []
    for number, stretch in enumerate(read_stretches(path)):
        part = kept / f"{number:04}.json" if kept else None
        if part and part.is_file():
            found = _load(part)
        else:
            found = hearing.hear(stretch)
            if part:
                _save(part, found)
        segments += found
        progress(len(stretch.samples) // 16)
    return Transcript(tuple(segments), model=model_name)


def _save(part: Path, segments: list[Segment]) -> None:
    part.parent.mkdir(parents=True, exist_ok=True)
    rows = [
        [s.start_ms, s.end_ms, s.text, [[w.text, w.start_ms, w.end_ms, w.probability, w.heard] for w in s.words]]
        for s in segments
    ]
    unfinished = part.with_suffix(".part")
    unfinished.write_text(json.dumps(rows), encoding="utf-8")
    unfinished.replace(part)


def _load(part: Path) -> list[Segment]:
    rows: list[Any] = json.loads(part.read_text(encoding="utf-8"))
    return [Segment(a, b, text, tuple(Word(*word) for word in words)) for a, b, text, words in rows]
