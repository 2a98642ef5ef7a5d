"""What a recording is likely to speak of: its sport's terms, its people, and what has been misheard before."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from itertools import zip_longest

from lexicon import Lexicon
from lexicon.misheard import Mishearing, shipped_mishearings
from notes.model import Word
from notes.sheet import Sheet
from notes.speech.phonemes import Sound, sound_of
from notes.speech.phonemes import near as nearest

_NEAR = 0.7
_LONGEST_SPAN = 3


@dataclass(frozen=True)
class TradeWords:
    """`terms`, the likeliest first; `names` of the people, athletes first; `club` and `shipped` mishearings."""

    terms: tuple[str, ...]
    names: tuple[str, ...] = ()
    club: tuple[Mishearing, ...] = ()
    shipped: tuple[Mishearing, ...] = ()

    @cached_property
    def sounds(self) -> dict[str, Sound]:
        """The sound of each term and plural of a one-word term, by its spelling."""
        spelt = {term: sound_of(term.lower().replace("-", " ")) for term in (*self.terms, *self.names)}
        for term in self.terms:
            if " " not in term and "-" not in term and not term.endswith("s"):
                spelt[f"{term}s"] = (*spelt[term], "Z" if spelt[term][-1] not in _UNVOICED else "S")
        return spelt

    @cached_property
    def key(self) -> str:
        """Tells apart hearings that were given other words."""
        return hashlib.sha256(repr((self.terms, self.names, self.club, self.shipped)).encode()).hexdigest()[:8]


_UNVOICED = frozenset("P T K F TH".split())


def trade_words(sheet: Sheet | None, lexicon: Lexicon, club: tuple[Mishearing, ...] = ()) -> TradeWords:
    """The words for a recording with that sheet; without one, the likeliest terms of every sport."""
    if sheet:
        return TradeWords(tuple(lexicon.terms[sheet.sport]), tuple(sheet.names), club, shipped_mishearings())
    by_turns = (term for row in zip_longest(*lexicon.terms.values()) for term in row if term)
    return TradeWords(tuple(dict.fromkeys(by_turns)), (), club, shipped_mishearings())


def likeliest(words: Iterable[Word], trade: TradeWords) -> tuple[list[str], bool]:
    """The terms in the order in which they should be told to the recogniser, given what it wrote, and whether
    telling it pays.

    First come the terms that sound like something written but are not written, then the others in their own order:
    a term that was written right needs no telling. It pays where there is any of the first sort.
    """
    written = [_bare(word.text) for word in words]
    text = f" {' '.join(written)} "
    spans: dict[str, Sound] = {}
    for size in range(1, _LONGEST_SPAN + 1):
        for first in range(len(written) - size + 1):
            span = " ".join(written[first : first + size])
            spans.setdefault(span, sound_of(span))
    missing = {
        term: trade.sounds[term]
        for term in trade.terms
        if len(trade.sounds[term]) >= 3 and f" {term.lower().replace('-', ' ')}" not in text
    }
    near: dict[str, float] = {}
    for sound in set(spans.values()):
        for term, alike in nearest(sound, missing, _NEAR):
            near[term] = max(alike, near.get(term, 0.0))
    sounding = sorted(near, key=lambda term: -near[term])
    return [*sounding, *(term for term in trade.terms if term not in near)], bool(sounding)


def _bare(text: str) -> str:
    return text.lower().replace("’", "'").strip(".,?!…:;\"'()-").replace("-", " ")
