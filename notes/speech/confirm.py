"""Unsure words that sound somewhat like a term, put to the recogniser itself: it heard the sound, and so has the say.

Likeness alone may not go far: "tumble" is two sounds off "pummel". What was written and what the term would make of it
are scored by the same decoder on the same sound, the terms in question told to it beforehand, and the term is taken
where it is not much less likely. Scoring costs a window at most 1 + _ROUNDS readings of its text.
"""

from collections.abc import Callable, Iterable

from notes.speech.asking import Read, Window
from notes.speech.phonemes import near, sound_of
from notes.speech.repair import UNSURE, Swap, bare_words, exchanged, in_place, spans
from notes.speech.terms import TradeWords

# Set on the development half of the hearing benchmark; DEVELOPERS.md has what they let through and keep out.
# Likeness asked for; the surer the word, the more of it.
_ALIKE = 0.5
_SHORTEST = 3
_LONGEST_SPAN = 3
_ROUNDS = 2
_AFTER = 3
_BOUND = -4.0


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


def confirmed(window: Window, trade: TradeWords, reader: Callable[[list[str]], Read]) -> Window:
    """The window with the terms in it that its sound confirms; `reader` reads it with those terms told beforehand."""
    found = doubts(window, trade)
    if not found:
        return window
    return weighed(window, found, reader(list(dict.fromkeys(swap.said for swap in found))))


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
