"""Sound to words with times, by faster-whisper's batched pipeline behind its silence filter."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from notes.model import Dropped, Segment, Transcript, Word
from notes.speech.audio import Stretch, read_stretches
from notes.speech.guards import guarded
from notes.speech.language import check_english
from notes.speech.models import Device, batch_size, load_model
from notes.speech.prompt import terms_as_prose
from notes.speech.unfinished import Unfinished
from notes.times import to_ms

if TYPE_CHECKING:
    from faster_whisper import BatchedInferencePipeline

Progress = Callable[[int], None]

# The default of 0.5 threw away nine tenths of a telephone-band memo. At 0.2 the memo is read, and what noise then
# lets through is known by its words (guards.py).
_VAD = {"threshold": 0.2, "min_silence_duration_ms": 500}


def transcribe(
    path: Path,
    model_name: str,
    terms: list[str],
    names: list[str],
    progress: Progress,
    kept: Path | None = None,
    device: Device = "auto",
) -> Transcript:
    """The words of a recording. `progress` is told the ms of sound done since it was last called.

    With `kept`, a folder of this recording and model alone, finished stretches are kept there and an interrupted
    run goes on behind the last of them. Raises BadRecording, also for another language than English, and BadModel.
    """
    from faster_whisper import BatchedInferencePipeline

    model = load_model(model_name, device)
    pipeline = BatchedInferencePipeline(model)
    prose = terms_as_prose(terms, names, lambda text: len(model.hf_tokenizer.encode(text).ids))
    unfinished = Unfinished(kept) if kept else None
    segments: list[Segment] = []
    dropped: list[Dropped] = []
    language_known = False
    for stretch in read_stretches(path):
        found = unfinished.load(stretch) if unfinished else None
        if found is None:
            language_known = language_known or check_english(model, stretch.samples, path)
            found = list(_hear(pipeline, stretch, prose))
            if unfinished:
                unfinished.save(stretch, found)
        speech, noise = guarded(found, prose)
        segments += speech
        dropped += noise
        progress(len(stretch.samples) // 16)
    return Transcript(tuple(segments), model=model_name, dropped=tuple(dropped))


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
                round(float(w.probability), 3),
            )
            for w in segment.words or ()
            if w.word.strip()
        )
        yield from _sentences(words)


def _sentences(words: tuple[Word, ...]) -> Iterator[Segment]:
    first = 0
    for i, word in enumerate(words, 1):
        if i == len(words) or word.text.endswith((".", "?", "!")):
            part = words[first:i]
            yield Segment(part[0].start_ms, part[-1].end_ms, " ".join(w.text for w in part), part)
            first = i
