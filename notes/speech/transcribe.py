"""A recording to words with times, stretch by stretch."""

from collections.abc import Callable
from pathlib import Path

from notes.model import Dropped, Segment, Transcript
from notes.speech.audio import read_stretches
from notes.speech.guards import guarded
from notes.speech.hearing import Hearing
from notes.speech.language import check_english
from notes.speech.models import Device, load_model
from notes.speech.terms import TradeWords
from notes.speech.unfinished import Unfinished

Progress = Callable[[int], None]


def transcribe(
    path: Path,
    model_name: str,
    trade: TradeWords,
    progress: Progress,
    kept: Path | None = None,
    device: Device = "auto",
) -> Transcript:
    """The words of a recording. `progress` is told the ms of sound done since it was last called.

    With `kept`, a folder of this recording and model alone, finished stretches are kept there and an interrupted
    run goes on behind the last of them. Raises BadRecording, also for another language than English, and BadModel.
    """
    model = load_model(model_name, device)
    hearing = Hearing(model, trade)
    unfinished = Unfinished(kept) if kept else None
    segments: list[Segment] = []
    dropped: list[Dropped] = []
    language_known = False
    for stretch in read_stretches(path):
        found = unfinished.load(stretch) if unfinished else None
        if found is None:
            language_known = language_known or check_english(model, stretch.samples, path)
            found = hearing.hear(stretch)
            if unfinished:
                unfinished.save(stretch, found)
        speech, noise = guarded(found, hearing.prose)
        segments += speech
        dropped += noise
        progress(len(stretch.samples) // 16)
    return Transcript(tuple(segments), model=model_name, dropped=tuple(dropped))
