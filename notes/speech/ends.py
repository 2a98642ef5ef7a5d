"""Where sentences end: by how coaches begin and end, the pause, and the recogniser, asked about the sound.

The recogniser puts a full stop at a pause of sense, where the sentence goes on, and a comma where the next begins.
Every word with a mark and every longer pause is a place where a sentence may end. How likely that is by the words
around it was learned from the corpus, by logistic regression (tests/training/ends.py); how much the sound and the pause
count, from the development half of the hearing benchmark.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files
from itertools import pairwise

import numpy as np

from notes.model import Word
from notes.speech.asking import Read

# So long a pause, in ms, may end a sentence without a mark.
_PAUSE_MS = 500
# By how much the words' own log odds count, those of the sound, and log odds of each second of pause, of a place that
# the sound was not asked about.
_WORDS, _SOUND, _PAUSE, _UNASKED, _BIAS = 0.78, 0.6, 5.9, 2.3, -3.6
_MARKS = ".?!,;:"
_ENDING = (".", "?", "!")
# How many words the sound is asked about: the one before the place and those behind it.
_AROUND = 5
_LENGTHS = (1, 2, 3, 5, 8, 12, 20)
_BARE = re.compile(r"[^\w']")
_SHORTENED = frozenset("mr. mrs. ms. dr. st. vs.".split())


def plain(word: str, names: frozenset[str]) -> str:
    """A word as it is compared: small letters, all names and all numbers as one. `names` in small letters."""
    bare = _BARE.sub("", word.lower()).removesuffix("'s")
    if bare in names:
        return "<name>"
    return "<n>" if bare.isdigit() else bare


def signs(words: Sequence[str], start: int, at: int, following: int) -> Iterator[str]:
    """What tells whether a sentence that began at `start` ends with word `at`; the next place for that is `following`.

    Words are plain ones; one at least stands behind `at`.
    """
    before, last = (words[at - 1] if at > start else "^"), words[at]
    first, *more = words[at + 1 : at + 4]
    second = more[0] if more and following > at + 1 else "$"
    since, until = _length(at + 1 - start), _length(following - at)
    opening = words[start : start + 2]
    yield from (f"p={last}", f"pp={before} {last}", f"n={first}", f"nn={first} {second}", f"pn={last} {first}")
    yield from (f"s={since}", f"u={until}", f"su={since},{until}", f"sn={since} {first}", f"up={until} {last}")
    yield from (f"f={opening[0]}", f"ff={' '.join(opening)}", f"fu={opening[0]} {until}", f"fs={opening[0]} {since}")
    yield f"n3={' '.join([first, *more])}"


def _length(words: int) -> int:
    return next((length for length in _LENGTHS if words <= length), 99)


def ends_by_sound(window: Sequence[Word], names: Sequence[str], read: Read) -> list[float | None]:
    """Log odds of an end behind each word of a window, by how likely the recogniser finds the words around it with a
    full stop there and without; None where no sentence may end, or the window does.

    Costs three readings: the text as written, and otherwise at every other place in turn.
    """
    known = frozenset(name.lower() for name in names)
    texts = [word.text for word in window]
    places = _places(window)
    found: list[float | None] = [None] * len(window)
    if not places:
        return found
    written = read(texts)
    for turn in filter(None, (places[::2], places[1::2])):
        otherwise = read(_otherwise(texts, turn, known))
        for i in turn:
            near = slice(i, i + _AROUND)
            gain = sum(otherwise[near]) - sum(written[near])
            found[i] = -gain if texts[i].endswith(_ENDING) else gain
    return found


def _otherwise(texts: Sequence[str], places: Sequence[int], names: frozenset[str]) -> list[str]:
    """The texts with a comma for a sentence's end and an end for everything else behind those places."""
    changed = list(texts)
    for i in places:
        if texts[i].endswith(_ENDING):
            changed[i], changed[i + 1] = f"{texts[i][:-1]},", _inside(texts[i + 1], names)
        else:
            changed[i], changed[i + 1] = _ended(texts[i]), _capital(texts[i + 1])
    return changed


def with_ends(words: Sequence[Word], by_sound: Sequence[float | None], names: Sequence[str]) -> list[list[Word]]:
    """Sentences of running words, with full stops and commas put where the words, the sound and the pauses say; a
    question mark and an exclamation mark always end one."""
    known = frozenset(name.lower() for name in names)
    told = [plain(word.text, known) for word in words]
    sentences: list[list[Word]] = []
    start = 0
    for at, following in pairwise([*_places(words), len(words) - 1]):
        word, heard = words[at], by_sound[at]
        pause_s = (words[at + 1].start_ms - word.end_ms) / 1000
        odds = _WORDS * _odds_by_words(signs(told, start, at, following)) + _PAUSE * pause_s + _BIAS
        odds += _UNASKED if heard is None else _SOUND * heard
        if (odds > 0 or word.text.endswith(("?", "!"))) and not _is_clock_time(words[start : at + 1]):
            sentences.append(_sentence(words[start : at + 1], known))
            start = at + 1
    if words:
        sentences.append(_sentence(words[start:], known))
    return sentences


def _places(words: Sequence[Word]) -> list[int]:
    """The words behind which a sentence may end, the last left out."""
    return [i for i, (word, after) in enumerate(pairwise(words)) if _may_end(word, after)]


def _may_end(word: Word, after: Word) -> bool:
    marked = word.text[-1] in _MARKS and word.text.lower() not in _SHORTENED
    return marked or after.start_ms - word.end_ms >= _PAUSE_MS


def _is_clock_time(words: Sequence[Word]) -> bool:
    """Whether words are figures alone, three at least: "150.", "3 -10."; punch numbers have fewer. A time that begins
    a memo's remark is no sentence."""
    text = "".join(word.text for word in words)
    return sum(c.isdigit() for c in text) >= 3 and not any(c.isalpha() for c in text)


def _odds_by_words(told: Iterator[str]) -> float:
    learned = _learned()
    return learned[""] + sum(learned.get(sign, 0.0) for sign in told)


@cache
def _learned() -> dict[str, float]:
    with np.load(str(files("notes.speech") / "ends.npz")) as kept:
        return dict(zip(kept["signs"].tolist(), kept["weights"].tolist(), strict=True))


def _sentence(words: Sequence[Word], names: frozenset[str]) -> list[Word]:
    """Words written as one sentence: a capital first, a mark at the end, no full stop inside."""
    texts = [word.text for word in words]
    for i, text in enumerate(texts[:-1]):
        if text.endswith(".") and text.lower() not in _SHORTENED:
            texts[i] = f"{text[:-1]},"
            texts[i + 1] = _inside(texts[i + 1], names)
    texts[0] = _capital(texts[0])
    if not texts[-1].endswith(_ENDING):
        texts[-1] = _ended(texts[-1])
    return [word if word.text == text else replace(word, text=text) for word, text in zip(words, texts, strict=True)]


def _ended(text: str) -> str:
    return f"{text.rstrip(_MARKS)}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _inside(text: str, names: frozenset[str]) -> str:
    """A word that begins no sentence: without its capital, where that is not the word's own."""
    owned = plain(text, names) == "<name>" or re.match(r"I\b", text) or not text[1:].islower()
    return text if owned else text[0].lower() + text[1:]
