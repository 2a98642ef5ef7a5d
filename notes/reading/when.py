"""When on the footage: live narration, spoken clocks, bells and round numbers. A time is never guessed."""

from dataclasses import dataclass

from notes.reading.clock import Clock, Reads, spoken_clock, spoken_round
from notes.reading.talk import Sentence, Talk
from notes.sheet import Sheet
from notes.times import TimeMap

# How many sentences a clock holds for what follows it; the talk has then moved on (reading guide, "When").
_HOLDS = 8


@dataclass(frozen=True, slots=True)
class _Known:
    footage_ms: int | None
    round: int | None
    heard: bool


class Moments:
    """Footage time and round of each sentence, where they can be known.

    `impossible` lists what was said of a time past the round's end; such a time is not used.
    """

    def __init__(self, talk: Talk, sheet: Sheet, *, timed: bool, playback: TimeMap | None = None):
        self._live = sheet.narration == "live" and timed
        self._playback = playback
        self._rounds = sheet.round_clock
        self._sheet = sheet
        self.impossible: list[str] = []
        self._known = self._walk(talk)

    def footage(self, sentence: Sentence) -> int | None:
        """Footage time in ms of what a sentence speaks of."""
        if not self._live:
            return self._known[sentence.index].footage_ms
        return self._playback.footage(sentence.start_ms) if self._playback else sentence.start_ms

    def round(self, sentence: Sentence) -> int | None:
        """The round a sentence speaks of. Over running footage, from a spoken bell or number until the next; without
        such, and in a memo, as the footage time tells."""
        known, at = self._known[sentence.index], self.footage(sentence)
        if (known.heard and self._live) or at is None or not self._rounds:
            return known.round
        return self._rounds.at(at)

    def _walk(self, talk: Talk) -> list[_Known]:
        known: list[_Known] = []
        bells = _Bells()
        footage: int | None = None
        held = 0
        for sentence in talk.sentences:
            words = list(talk.tokens.forms[sentence.first : sentence.last])
            before = bells.number
            bells.hear(words, live=self._sheet.narration == "live")
            if bells.number != before and before is not None:
                footage = None
            if clock := spoken_clock(words):
                if self._reads(clock) in ("elapsed", "left") and bells.number is None:
                    bells.number = 1
                moment = self._on_footage(clock, bells.number, footage, talk, sentence)
                if moment is not None:
                    footage, held = moment, 0
                elif clock.reads != "later":
                    footage = None
            elif held >= _HOLDS:
                footage = None
            held += 1
            known.append(_Known(footage, bells.round, bells.number is not None))
        if self._live and bells.began_unheard(known):
            known = [known_at if known_at.heard else _Known(known_at.footage_ms, 1, True) for known_at in known]
        return known

    def _reads(self, clock: Clock) -> Reads:
        return self._sheet.clock if clock.reads == "sheet" else clock.reads

    def _on_footage(
        self, clock: Clock, number: int | None, before: int | None, talk: Talk, sentence: Sentence
    ) -> int | None:
        """Footage time in ms of a spoken clock; None where it cannot be known."""
        ms = clock.seconds * 1000
        if clock.reads == "later":
            return None if before is None else before + ms
        reads = self._reads(clock)
        if reads == "video":
            return ms
        if not self._rounds or number is None:
            return None
        if ms > self._rounds.length_ms:
            self.impossible.append(talk.quote(sentence, sentence))
            return None
        return self._rounds.start(number) + (ms if reads == "elapsed" else self._rounds.length_ms - ms)


@dataclass
class _Bells:
    """The round that bells and spoken numbers say is running; the first start is round 1.

    What is said at a bell belongs to the round just ended; talk in the rest has no round (reading guide, "When").
    """

    number: int | None = None
    running: bool = True
    _ended: bool = False
    _sentences: int = 0
    _first: int | None = None

    @property
    def round(self) -> int | None:
        """The round of the sentence just heard."""
        return self.number if self.running or self._ended else None

    def hear(self, words: list[str], *, live: bool) -> None:
        """Take in one sentence."""
        self._ended = False
        named = spoken_round(words if not live or _rings(words) else words[:6])
        finished = bool(_FINISHED & set(words))
        if named is not None and not (live and finished):
            self.number, self.running = named, True
        elif _rings(words) or (live and finished and named is not None):
            if self.running and self.number is not None:
                self.running, self._ended = False, True
            elif self.number is None and self._sentences > _STARTS_WITHIN:
                self.number, self.running, self._ended = 1, False, True
            else:
                self.number, self.running = (self.number or 0) + 1, True
        if self._first is None:
            self._first = self.number if self.running else 0
        self._sentences += 1

    def began_unheard(self, known: "list[_Known]") -> bool:
        """Whether the first thing heard was an end, or a later round's start: what came before was round 1."""
        return any(not k.heard for k in known) and self._first is not None and self._first != 1


# An unnumbered bell this many sentences into the talk ends the first round; before, it starts it.
_STARTS_WITHIN = 12
_FINISHED = frozenset("finish finished finishes done over ends ended".split())
_UP_TO = frozenset("to till until before after off since ring heard hear near".split())
_STARTS = frozenset("and so ok okay right there that is 's the oh now ah , . your our then well anyway".split())


def _rings(words: list[str]) -> bool:
    """Whether a sentence reports a bell: "There's the bell", "Ding ding", "Time." """
    for i, word in enumerate(words):
        if word in ("bell", "buzzer", "gong") and not _UP_TO & set(words[max(0, i - 3) : i]):
            return True
    if words.count("ding") > 1:
        return True
    said = [w for w in words if w not in _STARTS and w.isalnum()]
    return (said[:1] == ["time"] and len(said) <= 4) or said == ["time"]
