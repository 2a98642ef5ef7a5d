"""Clock times and round numbers in spoken words. Words come as plain forms, contractions spelt out."""

import re
from dataclasses import dataclass
from typing import Literal

Reads = Literal["sheet", "video", "elapsed", "left", "later"]

_ONES = {
    word: number
    for number, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen"
        " seventeen eighteen nineteen".split()
    )
}
_ONES["nought"] = _ONES["naught"] = 0
_TENS = {
    word: 10 * number for number, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), 2)
}
_ORDINALS = {
    "first": 1,
    "second": 2,
    "third": 3,
    "fourth": 4,
    "fifth": 5,
    "1st": 1,
    "2nd": 2,
    "3rd": 3,
    "4th": 4,
    "5th": 5,
}
_DIGITAL = re.compile(r"([0-9]{1,3}):([0-5][0-9])")
_BEFORE = frozenset("at around about by on to from round with till until near past say".split())
_OPENING = frozenset(
    "and so but now ok okay right well then here there yes yeah um uh er look next also same that is it we are got i"
    " have clock says time still just , . : ; - round in".split()
)
_AFTER_LEFT = frozenset(", . : ; - in of on to and now ! ?".split())
# A whole time this near the start of a sentence introduces it, whatever stands before: "Sana, forty one seconds …".
_NEAR_START = 4
# A bare number below this is a punch or a count.
_LEAST_BARE = 10
# "At fifty you overcorrect": who acts follows the time.
_ACTORS = frozenset("i you he she they we it his her your the a an that this there and".split())
# Between a slip of the tongue and the time that was meant.
_CORRECTING = frozenset("no sorry mean rather".split())
_COMPARING = frozenset("as like than unlike since not".split())
_PUNCTUATION = frozenset(", . : ; ! ?".split())


@dataclass(frozen=True, slots=True)
class Clock:
    """A clock time said: seconds, and what it reads where the words tell ("sheet" where they do not)."""

    seconds: int
    reads: Reads


def spoken_clock(words: list[str]) -> Clock | None:
    """The first clock time in a sentence.

    >>> spoken_clock("at a minute ten on the video".split())
    Clock(seconds=70, reads='video')
    >>> spoken_clock("two - oh - five left , he jabs".split())
    Clock(seconds=125, reads='left')
    >>> spoken_clock("ten seconds later same again".split())
    Clock(seconds=10, reads='later')
    """
    place = 0
    clock: Clock | None = None
    while (found := _next_clock(words, place)) and (clock is None or _CORRECTING & set(words[place : found[0]])):
        clock, place = found[1], found[2]
    return clock


def _next_clock(words: list[str], first: int) -> tuple[int, Clock, int] | None:
    """The next clock time from words[first] on: its place, itself, and the place behind it."""
    for i in range(first, len(words)):
        if words[i - 1 : i] in (["round"], ["rounds"]) or (found := _time_at(words, i)) is None:
            continue
        seconds, end, sure = found
        reads = _reading(words, end)
        opening = all(w in _OPENING or w in _ORDINALS or _number_at(words, j) for j, w in enumerate(words[:i]))
        told = i > 0 and words[i - 1] in _BEFORE
        if sure and (told or opening or i < _NEAR_START or reads != "sheet"):
            return i, Clock(seconds, reads), end
        after = words[end] if end < len(words) else "."
        if sure and (after in _PUNCTUATION or words[i - 1] in _PUNCTUATION):
            return i, Clock(seconds, reads), end
        at = words[i - 1 : i] == ["at"] and after in _ACTORS
        ends = after in _PUNCTUATION or reads == "video" or at
        if reads in ("left", "later", "elapsed") or (seconds >= _LEAST_BARE and (opening or told) and ends):
            return i, Clock(seconds, reads), end
    return None


def _reading(words: list[str], end: int) -> Reads:
    after = words[end : end + 5]
    if not after:
        return "sheet"
    if after[:2] == ["left", "you"] and words[max(0, end - 4) : end].count("with"):
        return "left"
    if (after[0] == "left" and (len(after) == 1 or after[1] in _AFTER_LEFT)) or after[0] == "remaining":
        return "left"
    if after[:2] in (["to", "go"], ["to", "run"], ["from", "the"]) and "round" not in after[:1]:
        return "left"
    if after[0] in ("later", "afterwards") or after[:2] in (
        ["after", "that"],
        ["further", "on"],
        ["on", "from"],
        ["after", "this"],
    ):
        return "later"
    if after[0] in ("into", "gone") or (after[0] == "in" and (len(after) == 1 or after[1] in _PUNCTUATION)):
        return "elapsed"
    if {"video", "tape", "footage", "film"} & set(after) and after[0] in ("on", "of", "in"):
        return "video"
    return "sheet"


def _time_at(words: list[str], i: int) -> tuple[int, int, bool] | None:
    """Seconds, the place behind them, and whether the form can be nothing else than a time."""
    if match := _DIGITAL.fullmatch(words[i]):
        return int(match[1]) * 60 + int(match[2]), i + 1, True
    if words[i] in ("a", "one", "half") and _unit(words, i + 1) == "minute":
        seconds = 30 if words[i] == "half" else 60
        return _after_minutes(words, i + 2, seconds)
    if i == 0 and words[0] == "minute":
        return _after_minutes(words, 1, 60)
    if words[i : i + 3] == ["half", "a", "minute"]:
        return 30, i + 3, True
    first = _number_at(words, i)
    if first is None:
        return None
    number, end = first
    unit = _unit(words, end)
    if unit == "minute":
        return _after_minutes(words, end + 1, number * 60)
    if unit == "second":
        return number, end + 1, True
    end = _skip(words, end, "-")
    if words[end : end + 1] in (["flat"], ["even"]) and number <= 15:
        return number * 60, end + 1, True
    if words[end : end + 3] == ["on", "the", "clock"]:
        return number, end + 3, True
    if number <= 15:
        if words[end : end + 1] in (["oh"], ["o"]):
            place = _skip(words, end + 1, "-")
            ones = _number_at(words, place)
            if ones and ones[0] < 10:
                return number * 60 + ones[0], ones[1], True
        second = _number_at(words, end)
        if second and 10 <= second[0] < 60 and second[1] > end:
            return number * 60 + second[0], second[1], True
    if number < 600:
        return number, first[1], False
    return None


def _after_minutes(words: list[str], place: int, seconds: int) -> tuple[int, int, bool]:
    """A time whose minutes are said, with the seconds that may follow."""
    place_and = place + 1 if words[place : place + 1] == ["and"] else place
    if words[place_and : place_and + 2] == ["a", "half"]:
        return seconds + 30, place_and + 2, True
    more = _number_at(words, _skip(words, place_and, "-"))
    if more and more[0] < 60:
        end = more[1] + 1 if _unit(words, more[1]) == "second" else more[1]
        return seconds + more[0], end, True
    if words[place : place + 1] in (["flat"], ["exactly"], ["dead"]):
        place += 1
    return seconds, place, True


def _unit(words: list[str], i: int) -> str | None:
    word = words[i] if i < len(words) else ""
    return {"minute": "minute", "minutes": "minute", "second": "second", "seconds": "second", "secs": "second"}.get(
        word
    )


def _skip(words: list[str], i: int, mark: str) -> int:
    return i + 1 if i < len(words) and words[i] == mark else i


def _number_at(words: list[str], i: int) -> tuple[int, int] | None:
    """A number below a hundred said at words[i], and the place behind it: "fifty", "fifty - five", "50"."""
    if i >= len(words):
        return None
    word = words[i]
    if word.isascii() and word.isdigit() and len(word) <= 3:
        return int(word), i + 1
    if word in _ONES:
        return _ONES[word], i + 1
    if word in _TENS:
        after = _skip(words, i + 1, "-")
        ones = _ONES.get(words[after]) if after < len(words) else None
        if ones is not None and 0 < ones < 10:
            return _TENS[word] + ones, after + 1
        return _TENS[word], i + 1
    return None


def spoken_round(words: list[str]) -> int | None:
    """The round named in a sentence.

    >>> spoken_round("thirty left in the first".split()), spoken_round("round two , off we go".split())
    (1, 2)
    """
    for i, word in enumerate(words):
        if _COMPARING & set(words[max(0, i - 4) : i]):
            continue
        if word in ("round", "bell") and (number := _number_at(words, i + 1 + (words[i + 1 : i + 2] == ["for"]))):
            return number[0] if 1 <= number[0] <= 12 else None
        if word in _ORDINALS:
            if words[i + 1 : i + 2] in (["round"], ["roll"]):
                return _ORDINALS[word]
            before = words[max(0, i - 3) : i]
            ends = i + 1 >= len(words) or words[i + 1] in _PUNCTUATION
            if ends and before[-1:] == ["the"] and before[-2:-1] and before[-2] in ("in", "into", "of", "for", "to"):
                return _ORDINALS[word]
    return None
