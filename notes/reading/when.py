"""When on the footage: live narration, spoken clocks, bells and round numbers."""

import re
from dataclasses import dataclass

from notes.reading.talk import Sentence, Talk
from notes.sheet import Sheet

_ONES = {w: n for n, w in enumerate("zero one two three four five six seven eight nine ten eleven twelve thirteen"
         " fourteen fifteen sixteen seventeen eighteen nineteen".split())}  # fmt: skip
_TENS = {w: 10 * n for n, w in enumerate("twenty thirty forty fifty".split(), 2)}
_ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "last": 0}


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known from one sentence on."""

    footage_ms: int | None
    round: int | None


class Moments:
    """Footage time and round of each sentence, where they can be known; never guessed."""

    def __init__(self, talk: Talk, sheet: Sheet, *, timed: bool):
        self._live = sheet.narration == "live" and timed
        self._rounds = sheet.round_clock
        self._known = self._walk(talk, sheet)

    def footage(self, sentence: Sentence) -> int | None:
        """Footage time in ms of what a sentence speaks of."""
        return sentence.start_ms if self._live else self._known[sentence.index].footage_ms

    def round(self, sentence: Sentence) -> int | None:
        """The round a sentence speaks of."""
        spoken = self._known[sentence.index].round
        if spoken is None and self._rounds and (at := self.footage(sentence)) is not None:
            return self._rounds.at(at)
        return spoken

    def _walk(self, talk: Talk, sheet: Sheet) -> list[_Known]:
        known: list[_Known] = []
        number: int | None = None
        clock: int | None = None
        for sentence in talk.sentences:
            words = list(talk.tokens.forms[sentence.first : sentence.last])
            number = spoken_round(words) or number
            if sheet.narration == "memo":
                said = spoken_clock(words)
                if said is not None:
                    clock = self._on_footage(said, number, words, sheet)
            known.append(_Known(clock, number))
        return known

    def _on_footage(self, seconds: int, number: int | None, words: list[str], sheet: Sheet) -> int | None:
        convention = "left" if "left" in words or "remaining" in words else sheet.clock
        if "video" in words or "tape" in words or "footage" in words:
            convention = "video"
        if convention == "video":
            return seconds * 1000
        if not self._rounds or not number or seconds * 1000 > self._rounds.length_ms:
            return None
        into = seconds * 1000 if convention == "elapsed" else self._rounds.length_ms - seconds * 1000
        return self._rounds.start(number) + into


def spoken_round(words: list[str]) -> int | None:
    """The round named in a sentence: "round two", "the second round", "into the second".

    >>> spoken_round("into round two".split())
    2
    """
    for i, word in enumerate(words):
        after = words[i + 1] if i + 1 < len(words) else ""
        if word == "round" and (number := _number(after)) and number <= 12:
            return number
        if word in _ORDINALS and after == "round" and _ORDINALS[word]:
            return _ORDINALS[word]
    return None


def _number(word: str) -> int | None:
    if word.isascii() and word.isdigit():
        return int(word)
    return _ONES.get(word)


_CLOCK = re.compile(r"([0-9]{1,2}):([0-5][0-9])")


def spoken_clock(words: list[str]) -> int | None:
    """Seconds of a clock time said in a sentence: "a minute ten", "one forty", "two oh five", "2:05", "thirty seconds".

    >>> spoken_clock("at a minute ten on the video".split()), spoken_clock("at two oh five".split())
    (70, 125)
    """
    for i, word in enumerate(words):
        if match := _CLOCK.fullmatch(word):
            return int(match[1]) * 60 + int(match[2])
        rest = words[i + 1 :]
        before = words[i - 1] if i else ""
        if word in ("minute", "minutes"):
            minutes = 1 if before in ("a", "one", "the") else _number(before)
            if minutes is not None:
                return minutes * 60 + (_seconds(rest[1:] if rest[:1] == ["and"] else rest) or 0)
        if word in ("second", "seconds") and i and (told := _seconds_before(words[:i])) is not None:
            return told
        if before in ("at", "around", "about", "by") and (minutes := _number(word)) is not None and minutes < 15:
            seconds = _seconds(rest)
            if seconds is not None:
                return minutes * 60 + seconds
    return None


def _seconds(words: list[str]) -> int | None:
    """Seconds said after the minutes: "forty five", "oh five", "ten"."""
    if words[:1] in (["oh"], ["o"]) and len(words) > 1 and (digit := _number(words[1])) is not None:
        return digit
    if words and words[0] in _TENS:
        return _TENS[words[0]] + (_ones(words[1:]) or 0)
    if words and (number := _number(words[0])) is not None and 10 <= number < 60:
        return number
    return None


def _ones(words: list[str]) -> int | None:
    number = _number(words[0] if words and words[0] != "-" else words[1] if len(words) > 1 else "")
    return number if number is not None and number < 10 else None


def _seconds_before(words: list[str]) -> int | None:
    if words[-1] in _TENS:
        return _TENS[words[-1]]
    if len(words) > 1 and words[-2] in _TENS and (one := _ones(words[-1:])) is not None:
        return _TENS[words[-2]] + one
    return _number(words[-1])
