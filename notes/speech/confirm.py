"""Unsure words that sound somewhat like a term, put to the recogniser itself: it heard the sound, and so has the say.

Likeness alone may not go far: "tumble" is two sounds off "pummel". What was written and what the term would make of it
are scored by the same decoder on the same sound, the terms in question told to it beforehand, and the term is taken
where it is not much less likely. Scoring costs a window at most 1 + _ROUNDS readings of its text.
"""

from collections.abc import Callable, Iterable
from math import log
from typing import TYPE_CHECKING, Any

from notes.model import Word
from notes.speech.phonemes import near, sound_of
from notes.speech.repair import UNSURE, Swap, bare_words, exchanged, in_place, spans
from notes.speech.terms import TradeWords

if TYPE_CHECKING:
    from faster_whisper import WhisperModel

# Set on the development half of the hearing benchmark; DEVELOPERS.md has what they let through and keep out.
# Likeness asked for; the surer the word, the more of it.
_ALIKE = 0.5
_SHORTEST = 3
_LONGEST_SPAN = 3
_ROUNDS = 2
_AFTER = 3
_BOUND = -4.0
_LEAST = 1e-9
# In tokens: the decoder reads 448 at most, of which the prose may take 190. Nobody says so much in 30 s: it is a loop.
_LONGEST_TEXT = 220
# Of the sound, for times that nobody asks for; the text's probabilities do not depend on it.
_FRAMES = 16

Window = tuple[Word, ...]
# The log probability of each of a window's texts, given its sound and the texts before it; 0 for an empty one.
Read = Callable[[list[str]], list[float]]


def doubts(window: Window, trade: TradeWords) -> list[Swap]:
    """What unsure words of a window could be instead, the likest first."""
    bare, marks = bare_words(window)
    single = {part for spelt in trade.sounds for part in spelt.lower().replace("-", " ").split()}
    long_enough = {spelt: sound for spelt, sound in trade.sounds.items() if len(sound) >= _SHORTEST}
    listed = {mishearing.heard for mishearing in trade.club + trade.shipped}
    found: list[tuple[float, Swap]] = []
    for first, last in spans(bare, marks, _LONGEST_SPAN):
        span = bare[first:last]
        text = " ".join(span)
        if not text.replace(" ", "").replace("'", "").isalpha() or text.endswith("'s"):
            continue
        for spelt, alike in near(sound_of(text), long_enough, _ALIKE):
            said = spelt.lower().replace("-", " ").split()
            changed = [i for i in range(first, last) if bare[i] not in said]
            sure = min((window[i].probability or 0.0 for i in changed), default=1.0)
            known = set(said) <= set(span) or text in listed or single & {bare[i] for i in changed}
            if sure < UNSURE and alike >= _ALIKE + max(0.0, sure - 0.5) / 2 and not known:
                found.append((alike, Swap(first, last, spelt)))
    return [swap for _, swap in sorted(found, key=lambda pair: -pair[0])]


class Confirming:
    """Scores texts of windows by one model."""

    def __init__(self, model: "WhisperModel", trade: TradeWords, as_prose: Callable[[list[str]], str]):
        from faster_whisper.tokenizer import Tokenizer

        self._model = model
        self._trade = trade
        self._as_prose = as_prose
        self._tokens = Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en")

    def confirmed(self, window: Window, encoded: Any) -> Window:
        """The window with the terms in it that its sound confirms; `encoded` is its sound, by the model's encoder."""
        found = doubts(window, self._trade)
        if not found or len(self._tokens.encode(" ".join(word.text for word in window))) > _LONGEST_TEXT:
            return window
        return weighed(window, found, self._reader(encoded, list(dict.fromkeys(swap.said for swap in found))))

    def _reader(self, encoded: Any, terms: list[str]) -> Read:
        """What gives the log probability of each of a window's texts."""
        tokens = self._tokens
        start = [tokens.sot_prev, *tokens.encode(f" {self._as_prose(terms)}"), *tokens.sot_sequence]

        def read(texts: list[str]) -> list[float]:
            coded = [tokens.encode(f" {text}") if text else [] for text in texts]
            given = [token for part in coded for token in part]
            (result,) = self._model.model.align(encoded, start, [given], _FRAMES)
            chances = iter(result.text_token_probs)
            return [sum(log(max(next(chances), _LEAST)) for _ in part) for part in coded]

        return read


def weighed(window: Window, found: list[Swap], read: Read) -> Window:
    """The window after those swaps, of the ones found, that its sound bears out; `read` tells how likely texts are."""
    written = read([word.text for word in window])
    gains: list[tuple[float, Swap]] = []
    for _ in range(_ROUNDS):
        chosen = _apart(found)
        found = [swap for swap in found if swap not in chosen]
        if chosen:
            gains += _gained(window, chosen, written, read)
    return exchanged(window, _best(gains))


def _gained(window: Window, swaps: list[Swap], written: list[float], read: Read) -> list[tuple[float, Swap]]:
    """By how much each of some swaps, all made at once, makes its place and the words behind it likelier."""
    texts = [word.text for word in window]
    for swap in swaps:
        texts[swap.first : swap.last] = [in_place(window[swap.first : swap.last], swap.said)] + [""] * (
            swap.last - swap.first - 1
        )
    changed = read(texts)
    places = [slice(swap.first, swap.last + _AFTER) for swap in swaps]
    return [(sum(changed[place]) - sum(written[place]), swap) for place, swap in zip(places, swaps, strict=True)]


def _apart(swaps: Iterable[Swap]) -> list[Swap]:
    """Those that stand far enough apart to be judged together, the first of the others being kept."""
    chosen: list[Swap] = []
    for swap in swaps:
        if all(swap.last + _AFTER <= one.first or one.last + _AFTER <= swap.first for one in chosen):
            chosen.append(swap)
    return chosen


def _best(gains: list[tuple[float, Swap]]) -> list[Swap]:
    """Of swaps that gain enough, those that gain most and do not overlap."""
    kept: list[Swap] = []
    for gain, swap in sorted(gains, key=lambda pair: -pair[0]):
        if gain >= _BOUND and all(swap.last <= one.first or one.last <= swap.first for one in kept):
            kept.append(swap)
    return kept
