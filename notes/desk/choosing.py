"""Words that a person chose on the script page."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from notes.errors import TapesideError
from notes.model import Observation, Segment, Transcript, Word
from notes.sheet import Sheet


class BadChoice(TapesideError):
    """The page and the log no longer hold the same words."""


@dataclass(frozen=True, slots=True)
class ChosenWords:
    """Words `first` to `last` of a talk, counted from 0 as the script page counts them; times in ms."""

    first: int
    last: int
    text: str
    start_ms: int
    end_ms: int

    def as_note(self, transcript: Transcript, sheet: Sheet) -> Observation:
        """A blank note on them, at their moment of the footage and round where those are known."""
        footage = None
        if sheet.narration == "live" and transcript.timed:
            footage = transcript.playback.footage(self.start_ms) if transcript.playback else self.start_ms
        rounds = sheet.round_clock
        return Observation(
            athlete=sheet.athletes[0].name, role="athlete", kind="fault", techniques=(), faults=(), fixes=(), why=None,
            unlisted=None, start_ms=self.start_ms, end_ms=self.end_ms, footage_ms=footage,
            round=rounds.at(footage) if rounds and footage is not None else None,
            again=False, quote=self.text, confidence=1.0,
        )  # fmt: skip


def spoken_words(segment: Segment) -> tuple[Word, ...]:
    """The words of a segment; those of a caption have the caption's times."""
    return segment.words or tuple(Word(text, segment.start_ms, segment.end_ms) for text in segment.text.split())


def chosen_words(transcript: Transcript, given: Mapping[str, str]) -> ChosenWords:
    """The words that the page's form names. Raises BadChoice where there are none such."""
    words = [word for segment in transcript.segments for word in spoken_words(segment)]
    first, last = (int(n) if (n := given.get(name, "")).isdecimal() else -1 for name in ("first", "last"))
    if not 0 <= first <= last < len(words):
        raise BadChoice("These words are not in the review any more; reload the page")
    told = words[first : last + 1]
    return ChosenWords(first, last, " ".join(w.text for w in told), told[0].start_ms, told[-1].end_ms)


def mended(transcript: Transcript, chosen: ChosenWords, right: str) -> Transcript:
    """The transcript with the chosen words as a person heard them. What was written stays in each word's `heard`; no
    time moves but those of the new words, which share the old ones' time."""
    return replace(transcript, segments=tuple(_mended(transcript, chosen, right.split())))


def _mended(transcript: Transcript, chosen: ChosenWords, right: list[str]) -> Iterator[Segment]:
    index = 0
    for segment in transcript.segments:
        words = spoken_words(segment)
        first, last = chosen.first - index, chosen.last - index
        index += len(words)
        if last < 0 or first >= len(words):
            yield segment
            continue
        before, old, after = words[: max(0, first)], words[max(0, first) : last + 1], words[last + 1 :]
        new = _spread(right, old) if first >= 0 else iter(())
        now = (*before, *new, *after)
        if now:
            told = " ".join(word.text for word in now)
            yield replace(segment, text=told, words=now if segment.words else ())


def _spread(right: list[str], old: tuple[Word, ...]) -> Iterator[Word]:
    """New words over the time of the old, in equal parts where their numbers differ."""
    heard = " ".join(word.heard or word.text for word in old)
    if len(right) == len(old):
        for text, word in zip(right, old, strict=True):
            yield word if text == word.text else replace(word, text=text, heard=word.heard or word.text)
        return
    start, length = old[0].start_ms, old[-1].end_ms - old[0].start_ms
    for i, text in enumerate(right):
        times = (start + length * i // len(right), start + length * (i + 1) // len(right))
        yield Word(text, *times, heard=heard if i == 0 else None)
