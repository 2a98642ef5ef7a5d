"""Sound to words with times, by faster-whisper's batched pipeline behind its silence filter."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import mean
from typing import TYPE_CHECKING, Any

from notes.model import Segment, Transcript, Word
from notes.speech.audio import Stretch, read_stretches
from notes.speech.models import batch_size, load_model
from notes.speech.prompt import leaks, terms_as_prose
from notes.times import to_ms

if TYPE_CHECKING:
    from faster_whisper import BatchedInferencePipeline

Progress = Callable[[int], None]

# The default of 0.5 threw away nine tenths of a telephone-band memo. At 0.2 the memo is read, and what noise then
# lets through is known by its words: a mean probability of .07 to .11 in noise and tones, from .54 up in speech,
# however muffled (see DEVELOPERS.md).
_VAD = {"threshold": 0.2, "min_silence_duration_ms": 500}
_LEAST_PROBABILITY = 0.35


def transcribe(
    path: Path,
    model_name: str,
    terms: list[str],
    names: list[str],
    progress: Progress,
    kept: Path | None = None,
) -> Transcript:
    """The words of a recording. `progress` is told the ms of sound done since it was last called.

    With `kept`, a folder of this recording and model alone, finished stretches are kept there and an interrupted
    run goes on behind the last of them. Raises BadRecording and BadModel.
    """
    from faster_whisper import BatchedInferencePipeline

    model = load_model(model_name)
    pipeline = BatchedInferencePipeline(model)
    prose = terms_as_prose(terms, names, lambda text: len(model.hf_tokenizer.encode(text).ids))
    segments: list[Segment] = []
    for number, stretch in enumerate(read_stretches(path)):
        part = kept / f"{number:04}.json" if kept else None
        if part and part.is_file():
            found = _load(part)
        else:
            found = [s for s in _hear(pipeline, stretch, prose) if not leaks(s.text, prose)]
            if part:
                _save(part, found)
        segments += found
        progress(len(stretch.samples) // 16)
    return Transcript(tuple(segments), model=model_name)


def _hear(pipeline: "BatchedInferencePipeline", stretch: Stretch, prose: str) -> Iterator[Segment]:
    found, _ = pipeline.transcribe(
        stretch.samples,
        language="en",
        beam_size=5,
        batch_size=batch_size(pipeline.model),
        word_timestamps=True,
        vad_filter=True,
        vad_parameters=dict(_VAD),
        hotwords=prose,
    )
    for segment in found:
        words = tuple(
            Word(
                w.word.strip(),
                stretch.start_ms + to_ms(w.start),
                stretch.start_ms + to_ms(w.end),
                round(w.probability, 3),
            )
            for w in segment.words or ()
            if w.word.strip()
        )
        if words and mean(w.probability or 0.0 for w in words) >= _LEAST_PROBABILITY:
            yield from _sentences(words)


def _sentences(words: tuple[Word, ...]) -> Iterator[Segment]:
    first = 0
    for i, word in enumerate(words, 1):
        if i == len(words) or word.text.endswith((".", "?", "!")):
            part = words[first:i]
            yield Segment(part[0].start_ms, part[-1].end_ms, " ".join(w.text for w in part), part)
            first = i


def _save(part: Path, segments: list[Segment]) -> None:
    part.parent.mkdir(parents=True, exist_ok=True)
    rows = [
        [s.start_ms, s.end_ms, s.text, [[w.text, w.start_ms, w.end_ms, w.probability] for w in s.words]]
        for s in segments
    ]
    unfinished = part.with_suffix(".part")
    unfinished.write_text(json.dumps(rows), encoding="utf-8")
    unfinished.replace(part)


def _load(part: Path) -> list[Segment]:
    rows: list[Any] = json.loads(part.read_text(encoding="utf-8"))
    return [Segment(a, b, text, tuple(Word(*word) for word in words)) for a, b, text, words in rows]
