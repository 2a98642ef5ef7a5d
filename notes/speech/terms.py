"""What a recording is likely to speak of: its sport's terms, its people, and what has been misheard before."""

import hashlib
import re
from dataclasses import dataclass
from functools import cached_property
from itertools import zip_longest

from lexicon import Lexicon
from lexicon.misheard import Mishearing, shipped_mishearings
from notes.sheet import Sheet
from notes.speech.phonemes import Sound, sound_of


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
            if " " not in term and "-" not in term and spelt[term][-1] not in _HISSING:
                plural = f"{term[:-1]}ies" if re.search("[^aeiou]y$", term) else f"{term}s"
                spelt[plural] = (*spelt[term], "Z" if spelt[term][-1] not in _UNVOICED else "S")
        return spelt

    @cached_property
    def key(self) -> str:
        """Tells apart hearings that were given other words."""
        return hashlib.sha256(repr((self.terms, self.names, self.club, self.shipped)).encode()).hexdigest()[:8]


_HISSING = frozenset("S Z SH ZH CH JH".split())
_UNVOICED = frozenset("P T K F TH".split())


def trade_words(sheet: Sheet | None, lexicon: Lexicon, club: tuple[Mishearing, ...] = ()) -> TradeWords:
    """The words for a recording with that sheet; without one, the likeliest terms of every sport."""
    if sheet:
        return TradeWords(tuple(lexicon.terms[sheet.sport]), tuple(sheet.names), club, shipped_mishearings())
    by_turns = (term for row in zip_longest(*lexicon.terms.values()) for term in row if term)
    return TradeWords(tuple(dict.fromkeys(by_turns)), (), club, shipped_mishearings())
