"""The recogniser's own judgement of a text: how likely each word of it is, given the sound of its window."""

from collections.abc import Callable, Sequence
from math import log
from typing import TYPE_CHECKING, Any

from notes.model import Word

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

_LEAST = 1e-9
# In tokens: the decoder reads 448 at most, of which the prose may take 190. Nobody says so much in 30 s: it is a loop.
_LONGEST_TEXT = 220
# Of the sound, for times that nobody asks for; the text's probabilities do not depend on it.
_FRAMES = 16

Window = tuple[Word, ...]
# The log probability of each of a window's texts, given its sound and the texts before it; 0 for an empty one.
Read = Callable[[list[str]], list[float]]


class Asking:
    """Asks one model."""

    def __init__(self, model: "WhisperModel"):
        from faster_whisper.tokenizer import Tokenizer

        self._model = model.model
        self._tokens = Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en")

    def is_too_long(self, window: Sequence[Word]) -> bool:
        """Whether a window has more words than anybody says in its time."""
        return len(self._tokens.encode(" ".join(word.text for word in window))) > _LONGEST_TEXT

    def reader(self, encoded: Any, prose: str | None = None) -> Read:
        """What reads a window's texts; `encoded` is its sound, by the model's encoder, `prose` what was said before."""
        tokens = self._tokens
        told = [tokens.sot_prev, *tokens.encode(f" {prose}")] if prose else []
        start = [*told, *tokens.sot_sequence]

        def read(texts: list[str]) -> list[float]:
            coded = [tokens.encode(f" {text}") if text else [] for text in texts]
            given = [token for part in coded for token in part]
            (result,) = self._model.align(encoded, start, [given], _FRAMES)
            chances = iter(result.text_token_probs)
            return [sum(log(max(next(chances), _LEAST)) for _ in part) for part in coded]

        return read
