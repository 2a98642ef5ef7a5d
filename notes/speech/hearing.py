"""The sound of one stretch to sentences: a first pass, what the sound confirms, what was missed, ends, repair.

What comes out depends on the stretch, the trade words and the model alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from notes.model import Segment, Word
from notes.speech.asking import Asking, Window
from notes.speech.audio import RATE_HZ, Samples, Stretch, is_by_telephone
from notes.speech.confirm import confirmed
from notes.speech.ends import ends_by_sound, with_ends
from notes.speech.guards import LEAST_PROBABILITY, sureness
from notes.speech.missed import believed, unheard
from notes.speech.prompt import terms_as_prose
from notes.speech.repair import has_unsure_term, repaired, tells_of_fighting
from notes.speech.terms import TradeWords
from notes.times import to_ms

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

# The default of 0.5 threw away nine tenths of a telephone-band memo. At 0.2 most of it is read, and what noise then
# lets through is known by its words (guards.py). Sound by telephone is read best with the pauses left in, which in a
# crowd makes words of nothing: only there.
_VAD: dict[str, Any] = {"threshold": 0.2, "min_silence_duration_ms": 500}
_VAD_BY_TELEPHONE: dict[str, Any] = {"threshold": 0.1, "min_silence_duration_ms": 500, "speech_pad_ms": 1_000}
_LONGEST_WINDOW_S = 30
_MARGIN_S = 0.2
# A word, and the log odds that its sound gives to a sentence's end behind it; None where it was not asked.
Judged = tuple[Word, float | None]


class _Remembering:
    """A model that keeps the sound that it encoded last, which costs a quarter of hearing a window."""

    def __init__(self, model: "WhisperModel"):
        self._model = model
        self.encoded: Any = None

    def encode(self, features: Any) -> Any:
        self.encoded = self._model.encode(features)
        return self.encoded

    def __getattr__(self, name: str) -> Any:
        return getattr(self._model, name)


class Hearing:
    """Hears stretches with one model and the trade words of one recording; `prose` is what the first pass is told."""

    def __init__(self, model: "WhisperModel", trade: TradeWords):
        self._model = _Remembering(model)
        self._tokenizer: Any = model.hf_tokenizer
        self._trade = trade
        self.prose = self._as_prose(list(trade.terms))
        self._asking = Asking(model)

    def hear(self, stretch: Stretch) -> list[Segment]:
        """The sentences of a stretch, times in ms of the recording; also what nobody said, see guards.py."""
        detecting = _VAD_BY_TELEPHONE if _is_talk_by_telephone(stretch.samples) else _VAD
        options = {"vad_filter": True, "vad_parameters": dict(detecting)}
        told = [
            pair
            for window in self._listen(stretch.samples, self.prose, options)
            for pair in self._considered(stretch.samples, window)
        ]
        for start, end in unheard([word for word, _ in told], stretch.samples):
            told += self._heard_again(stretch.samples, start, end)
        told.sort(key=lambda pair: pair[0].start_ms)
        words, ends = [word for word, _ in told], [odds for _, odds in told]
        found = [_segment(part) for part in with_ends(words, ends, self._trade.names)]
        return [_moved(part, stretch.start_ms) for part in repaired(found, self._trade, self._is_common)]

    def _listen(self, samples: Samples, prose: str | None, options: dict[str, Any]) -> Iterator[Window]:
        """Windows of at most 30 s, words timed from the start of the samples, one by one: the sound that the model
        remembers is that of the window in hand. A pipeline of its own, since it keeps where the last word ended."""
        from faster_whisper import BatchedInferencePipeline

        found, _ = BatchedInferencePipeline(self._model).transcribe(
            samples,
            language="en",
            beam_size=5,
            batch_size=1,
            word_timestamps=True,
            hotwords=prose,
            **options,
        )
        for segment in found:
            if words := tuple(_whole(segment.words or ())):
                yield words

    def _considered(self, samples: Samples, window: Window) -> list[Judged]:
        """The window with the terms that its sound confirms, and what the sound says of ends behind its words.

        An unsure term without another sign of fighting may come of the prose, which turns a Perry into a parry: such
        a window is heard again without prose first.
        """
        if sureness(window) < LEAST_PROBABILITY:
            return [(word, None) for word in window]
        start = max(0.0, window[0].start_ms / 1000 - _MARGIN_S)
        end = min(len(samples) / RATE_HZ, window[-1].end_ms / 1000 + _MARGIN_S)
        doubtful = not tells_of_fighting(window, self._trade) and has_unsure_term(window, self._trade)
        if doubtful and end - start <= _LONGEST_WINDOW_S:
            again = self._clip(samples, None, start, end)
            if again and len(window) * 0.8 <= len(again[0]) <= len(window) * 1.25:
                window = again[0]
        if self._asking.is_too_long(window):
            return [(word, None) for word in window]
        encoded = self._model.encoded
        window = confirmed(window, self._trade, lambda terms: self._asking.reader(encoded, self._as_prose(terms)))
        return list(zip(window, ends_by_sound(window, self._trade.names, self._asking.reader(encoded)), strict=True))

    def _heard_again(self, samples: Samples, start: float, end: float) -> list[Judged]:
        """What is said in a gap, in seconds; nothing where that is not believed."""
        windows = self._clip(samples, self.prose, start, end)
        return [pair for window in windows if believed(window) for pair in self._considered(samples, window)]

    def _clip(self, samples: Samples, prose: str | None, start: float, end: float) -> list[Window]:
        return [*self._listen(samples, prose, {"clip_timestamps": [{"start": start, "end": end}]})]

    def _as_prose(self, terms: list[str]) -> str:
        return terms_as_prose(terms, list(self._trade.names), lambda text: len(self._tokenizer.encode(text).ids))

    def _is_common(self, word: str) -> bool:
        """Whether the model has a token of its own for the word: such words it writes of habit."""
        return self._tokenizer.token_to_id(f"Ġ{word}") is not None


def _is_talk_by_telephone(samples: Samples) -> bool:
    """Whether there is speech in a telephone's band alone; a bell may ring within that band too."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    return is_by_telephone(samples) and bool(get_speech_timestamps(samples, VadOptions(**_VAD)))


def _whole(parts: Iterable[Any]) -> Iterator[Word]:
    """The recogniser's words; what it parts without a space, as in "d'arce" and "3-10", is one word again."""
    word: Word | None = None
    for part in parts:
        text, probability = part.word, round(float(part.probability), 3)
        if word and text[:1].strip():
            least = min(word.probability or 0.0, probability)
            word = Word(word.text + text.strip(), word.start_ms, to_ms(part.end), least)
        elif text.strip():
            if word:
                yield word
            word = Word(text.strip(), to_ms(part.start), to_ms(part.end), probability)
    if word:
        yield word


def _segment(words: Sequence[Word]) -> Segment:
    return Segment(words[0].start_ms, words[-1].end_ms, " ".join(word.text for word in words), tuple(words))


def _moved(segment: Segment, by_ms: int) -> Segment:
    words = tuple(Word(w.text, w.start_ms + by_ms, w.end_ms + by_ms, w.probability, w.heard) for w in segment.words)
    return Segment(segment.start_ms + by_ms, segment.end_ms + by_ms, segment.text, words)
