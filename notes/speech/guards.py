"""What a recogniser writes where nobody spoke, told from speech by its words alone. Pure functions over segments.

The bounds were set on the sounds of `tests/notes/speech/test_guards.py`: what silence, noise, bag, bell, music and
crowd gave, against human speech clean, muffled and in noise (DEVELOPERS.md, "What was measured").
"""

import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from statistics import mean

from notes.model import Dropped, Segment, Word
from notes.speech.prompt import leaks

# Mean word probability of a sentence: up to .38 in noise, from .48 on in speech that could be understood.
LEAST_PROBABILITY = 0.4
# Below this, a sentence that the recogniser might only repeat (its prompt, its training) is not believed.
SURE_PROBABILITY = 0.8
# A phrase said over and over: so many words in all, in so many repeats, are a loop and no speech.
_LOOP_WORDS = 12
_LOOP_TIMES = 4
_LONGEST_PHRASE = 10
# What Whisper learned from film captions and writes into noise (common practice, no source).
_STOCK = re.compile(r"\b(subscribe|thanks? (you )?(so much )?for watching|(sub)?titles by|captions? by|www)\b", re.I)


def guarded(segments: Iterable[Segment], prose: str) -> tuple[list[Segment], list[Dropped]]:
    """What is kept of a stretch's sentences, and what is dropped, each with its reason; `prose` is the prompt."""
    kept: list[Segment] = []
    dropped: list[Dropped] = []
    for _, run in groupby(segments, key=lambda s: _plain(s.text)):
        same = list(run)
        repeated = len(same) >= _LOOP_TIMES and sum(len(s.text.split()) for s in same) >= _LOOP_WORDS
        for place, segment in enumerate(same):
            reason = "the same sentence over and over" if repeated and place else _doubt(segment, prose)
            if reason:
                dropped.append(Dropped(segment.start_ms, segment.end_ms, segment.text, reason))
            else:
                kept.append(segment)
    return kept, dropped


def sureness(words: Sequence[Word]) -> float:
    """Mean probability of some words, one at least."""
    return mean(word.probability or 0.0 for word in words)


def _doubt(segment: Segment, prose: str) -> str | None:
    """Why a sentence is taken for no speech; None where it is speech."""
    sure = sureness(segment.words) if segment.words else 1.0
    plain = _plain(segment.text)
    if sure < LEAST_PROBABILITY:
        return "too unsure to be speech"
    if leaks(segment.text, prose) or (sure < SURE_PROBABILITY and len(plain) >= 3 and _holds(_plain(prose), plain)):
        return "the recogniser's own prompt"
    if sure < SURE_PROBABILITY and _STOCK.search(segment.text):
        return "a stock phrase of the recogniser"
    if 2 * looped(plain) > len(plain):
        return "one phrase over and over"
    return None


def looped(words: list[str]) -> int:
    """How many of the words belong to the longest loop: one phrase at least four times running, 12 words in all."""
    longest = 0
    for size in range(1, _LONGEST_PHRASE + 1):
        run = size
        for i in range(size, len(words)):
            run = run + 1 if words[i] == words[i - size] else size
            if run >= max(_LOOP_WORDS, size * _LOOP_TIMES):
                longest = max(longest, run)
    return longest


def _plain(text: str) -> list[str]:
    return re.findall(r"[\w']+", text.lower())


def _holds(words: list[str], part: list[str]) -> bool:
    return any(words[i : i + len(part)] == part for i in range(len(words) - len(part) + 1))
