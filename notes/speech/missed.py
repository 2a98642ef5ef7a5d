"""Sound as loud as the talk around it that got no words: speech that voice detection or the recogniser let go.

By telephone, voice detection misses sentences at any threshold that keeps noise out; in noise, the recogniser now and
then stops in the middle of a window. Either leaves a gap between words that is no pause, since its sound is as loud as
the words are.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from notes.model import Word
from notes.speech.asking import Window
from notes.speech.audio import RATE_HZ, Samples
from notes.speech.guards import LEAST_PROBABILITY, sureness

# Set on the development half of the hearing benchmark: of gaps this long, those with speech in them had at least .16 of
# their sound as loud as the words' median, pauses .14 at most, in gym noise too. A gap longer than 15 s is no slip of
# the recogniser's but a pause in the talk.
_SHORTEST_MS, _LONGEST_MS = 1_300, 15_000
_LOUD = 0.15
_EDGE_MS = 100
_FRAME = RATE_HZ // 32
# Noise as loud as the talk gave "Thank you." and "You can do it" at mean probabilities up to .54, and a crowd one word
# five times at .66; sentences that were said had .69 and more.
_SURE = 0.6


def unheard(words: Sequence[Word], samples: Samples) -> Iterator[tuple[float, float]]:
    """Start and end, in seconds, of each gap between words, or behind the last, that is as loud as they are.

    None where the words themselves are no speech, as those that a bell gives.
    """
    if not words or sureness(words) < LEAST_PROBABILITY:
        return
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    power = np.square(frames).mean(axis=1)
    worded = np.zeros(len(power), dtype=bool)
    for word in words:
        worded[_frame(word.start_ms) : _frame(word.end_ms) + 1] = True
    loud = power >= np.median(power[worded])
    end_ms = len(samples) * 1000 // RATE_HZ
    edges = [(0, 0), *((word.start_ms, word.end_ms) for word in words), (end_ms, end_ms)]
    for (_, before), (after, _) in pairwise(edges):
        start, end = before + _EDGE_MS, after - _EDGE_MS
        if _SHORTEST_MS <= after - before <= _LONGEST_MS and loud[_frame(start) : _frame(end)].mean() >= _LOUD:
            yield start / 1000, end / 1000


def believed(window: Window) -> bool:
    """Whether what the recogniser wrote for a gap was said."""
    different = {word.text.lower().strip(".,!?") for word in window}
    return sureness(window) >= _SURE and 2 * len(different) > len(window)


def _frame(ms: int) -> int:
    return ms * RATE_HZ // 1000 // _FRAME
