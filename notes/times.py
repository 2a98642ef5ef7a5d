"""Times are whole milliseconds inside the program and seconds with three places outside it."""

import re
from bisect import bisect_right
from dataclasses import dataclass


def to_seconds(ms: int) -> float:
    """Milliseconds as seconds, the form used in JSON.

    >>> to_seconds(47400)
    47.4
    """
    return round(ms / 1000, 3)


def to_ms(seconds: float) -> int:
    """Seconds as the nearest whole millisecond."""
    return round(seconds * 1000)


def clock(ms: int) -> str:
    """A time as people read it off a player, `m:ss`, or `h:mm:ss` from an hour on; parts of a second are cut.

    >>> clock(75_900), clock(3_600_000)
    ('1:15', '1:00:00')
    """
    minutes, seconds = divmod(ms // 1000, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}"


def read_clock(text: str) -> int:
    """A time as `clock` writes it, or as seconds, in ms. Raises ValueError for anything else.

    >>> read_clock("1:15"), read_clock("1:00:00"), read_clock("75.5")
    (75000, 3600000, 75500)
    """
    if match := _CLOCK.fullmatch(text):
        hours, minutes, seconds = match.groups()
        return to_ms(int(hours or 0) * 3600 + int(minutes) * 60 + float(seconds))
    if _SECONDS.fullmatch(text):
        return to_ms(float(text))
    raise ValueError(text)


_CLOCK = re.compile(r"(?:([0-9]{1,2}):)?([0-9]{1,3}):([0-5][0-9](?:\.[0-9]{1,3})?)")
_SECONDS = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3})?")


def caption_stamp(ms: int, *, decimal: str = ".") -> str:
    """A caption time `hh:mm:ss.ttt`; SRT wants `decimal=","`. Hours grow past two digits when needed.

    Source: W3C WebVTT, "WebVTT timestamp".
    >>> caption_stamp(3_661_999)
    '01:01:01.999'
    """
    seconds, ms = divmod(ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}{decimal}{ms:03}"


@dataclass(frozen=True, slots=True)
class Rounds:
    """When rounds run on the footage. All in ms: `length` of a round, `rest` after it, start of the first."""

    length_ms: int
    rest_ms: int
    first_ms: int

    def start(self, number: int) -> int:
        """Footage time in ms of the bell that opens round `number`, counted from 1."""
        return self.first_ms + (number - 1) * (self.length_ms + self.rest_ms)

    def at(self, footage_ms: int) -> int | None:
        """The round running at a footage time, closed at both bells; None before the first and in a rest.

        >>> Rounds(180_000, 60_000, 5_000).at(245_000), Rounds(180_000, 60_000, 5_000).at(200_000)
        (2, None)
        """
        index, into = divmod(footage_ms - self.first_ms, self.length_ms + self.rest_ms)
        return index + 1 if index >= 0 and into <= self.length_ms else None

    def run_by(self, footage_ms: int) -> float:
        """How many rounds have run by a footage time; a round under way counts for the part that has run.

        >>> Rounds(180_000, 60_000, 5_000).run_by(335_000)
        1.5
        """
        whole, into = divmod(max(footage_ms - self.first_ms, 0), self.length_ms + self.rest_ms)
        return whole + min(into, self.length_ms) / self.length_ms


@dataclass(frozen=True, slots=True)
class Played:
    """From `at_ms` of the talk on, the footage ran from `footage_ms` at `rate` (1 as filmed, 0 paused)."""

    at_ms: int
    footage_ms: int
    rate: float


@dataclass(frozen=True, slots=True)
class TimeMap:
    """How footage was played, paused, sought and slowed under a talk; in order of `at_ms`."""

    played: tuple[Played, ...]

    def footage(self, at_ms: int) -> int | None:
        """Footage time in ms of a moment of the talk: the last known one, gone on at its rate. None before the first.

        >>> TimeMap((Played(1_000, 5_000, 1.0), Played(3_000, 7_000, 0.0))).footage(2_500)
        6500
        """
        index = bisect_right([p.at_ms for p in self.played], at_ms) - 1
        if index < 0:
            return None
        last = self.played[index]
        return last.footage_ms + round((at_ms - last.at_ms) * last.rate)

    def furthest(self, end_ms: int) -> int:
        """The furthest footage time in ms that had been reached when the talk ended.

        >>> TimeMap((Played(0, 5_000, 1.0), Played(3_000, 1_000, 1.0))).furthest(6_000)
        8000
        """
        ends = [*(p.at_ms for p in self.played[1:]), end_ms]
        return max(p.footage_ms + round((end - p.at_ms) * p.rate) for p, end in zip(self.played, ends, strict=True))
