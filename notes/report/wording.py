"""Small words: days, moments, names of things, and sentences that vary without chance."""

import hashlib
import re
from collections.abc import Sequence
from datetime import date

from lexicon import Lexicon
from notes.archive.entries import Kept
from notes.archive.moments import moments_of
from notes.model import UNLISTED
from notes.times import clock

_HESITATION = re.compile(r"(^|[\s,])(?:u+h+|u+m+|e+r+m*|uhm|hmm+)\b[,.]?(?=\s|$)", re.IGNORECASE)


def spoken(quote: str) -> str:
    """The coach's sentence cleaned of "uh" and the like, and of nothing else.

    >>> spoken("Um, hands up, uh, on the way out.")
    'Hands up, on the way out.'
    """
    kept = " ".join(_HESITATION.sub(lambda m: "" if m[1] == "," else m[1], quote).split())
    kept = re.sub(r"\s+([,.?!])", r"\1", kept).lstrip(",. ") or quote
    return kept[:1].upper() + kept[1:] if quote[:1].isupper() else kept


def day(of: date) -> str:
    """A day as it is written in a letter.

    >>> day(date(2031, 3, 4))
    '4 March 2031'
    """
    return f"{of.day} {_MONTHS[of.month - 1]} {of.year}"


_MONTHS = "January February March April May June July August September October November December".split()


def days(span: Sequence[date]) -> str:
    """One day, or the first and the last of several."""
    return day(span[0]) if len(span) == 1 else f"{day(span[0])} to {day(span[-1])}"


def times(count: int) -> str:
    """How often.

    >>> times(1), times(2), times(3)
    ('once', 'twice', '3 times')
    """
    return {1: "once", 2: "twice"}.get(count, f"{count} times")


def listed(items: Sequence[str]) -> str:
    """Things in a row.

    >>> listed(["jab", "cross", "hook"])
    'jab, cross and hook'
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def moment(kept: Kept, *, dated: bool) -> str:
    """Where to find a note: its round and footage time, else its time in the talk, else its day."""
    o = kept.observation
    if o.footage_ms is not None:
        where = f"at {clock(o.footage_ms)}"
    elif kept.timed:
        where = f"{clock(o.start_ms)} into the talk"
    else:
        where = "" if o.round else f"on {day(kept.day)}"
    place = f"round {o.round} {where}".strip() if o.round else where
    return f"{place} on {day(kept.day)}" if dated and where and "on" not in where.split() else place


def moments(notes: Sequence[Kept], *, most: int = 5) -> str:
    """The moments of several notes; days are told where there is more than one."""
    dated = len({kept.day for kept in notes}) > 1
    shown = list(dict.fromkeys(moment(told[0], dated=dated) for told in moments_of(notes)))
    more = f" and {len(shown) - most} more" if len(shown) > most else ""
    return f"{', '.join(shown[:most])}{more}" if more else listed(shown)


def distinct(notes: Sequence[Kept]) -> int:
    """How many moments the notes speak of; two that would be shown at one footage time are one."""
    firsts = [told[0] for told in moments_of(notes)]
    return len({(k.day, clock(o.footage_ms) if (o := k.observation).footage_ms is not None else o.id) for k in firsts})


def name_of(term: str, lexicon: Lexicon) -> str:
    """A technique, fault or fix as a person reads it; the coach's own words for what the lexicon does not list."""
    if term.startswith(f"{UNLISTED}: "):
        return f"“{term.removeprefix(f'{UNLISTED}: ')}”"
    entry = lexicon.entries.get(term)
    return entry.label if entry else term


def capital(text: str) -> str:
    """The text with a capital first."""
    return text[:1].upper() + text[1:]


def key_of(term: str) -> str:
    """A part's key from a term: its id, or a fingerprint of the coach's own words."""
    return f"unlisted-{fingerprint(term)}" if term.startswith(UNLISTED) else term


def fingerprint(text: str) -> str:
    """Eight signs that stand for a text."""
    return hashlib.sha256(text.encode()).hexdigest()[:8]


def vary(sentences: Sequence[str], *seed: object) -> str:
    """One of several sentences: always the same one for the same seed."""
    return sentences[int(fingerprint(repr(seed)), 16) % len(sentences)]
