"""A review as a script page: what was said in paragraphs, a moment each, with the notes beside their words."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup

from notes.desk.choosing import spoken_words
from notes.desk.notes import Note
from notes.model import Segment, Transcript, Word
from notes.sheet import Sheet
from notes.times import Rounds, clock

_PAUSE_MS = 1_500
_MOST_SENTENCES = 5


@dataclass(slots=True)
class Moment:
    """A paragraph. `start` in ms of the recording; `clock` is how that is shown, empty where times are unknown; `first`
    counts the words of the talk before it."""

    start: int
    clock: str
    first: int
    words: list[Word] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    not_coach: bool = False
    bell: str = ""

    @property
    def text(self) -> Markup:
        """The words as HTML, a blank between two and none within: the page's script tells them apart by that. They are
        no elements of their own, of which three hours would need tens of thousands."""
        return Markup(" ").join(map(_told, self.words))

    @property
    def times(self) -> str:
        """When each word begins, in ms from the start of the paragraph."""
        return " ".join(str(word.start_ms - self.start) for word in self.words)


@dataclass(frozen=True, slots=True)
class Bell:
    """A rule across the page where a round starts or ends."""

    bell: str


def _told(word: Word) -> str | Markup:
    text = "\u00a0".join(word.text.split())
    if word.heard is None:
        return text
    return Markup('<span class="mended" title="heard: {}">{}</span>').format(word.heard, text)


def script(transcript: Transcript, notes: Sequence[Note], sheet: Sheet) -> list[Moment | Bell]:
    """The page from top to bottom. Rounds are ruled off where the footage ran under the talk."""
    moments = list(_moments(transcript, {n.start for n in notes}, sheet))
    starts = [m.start for m in moments]
    for note in notes:
        if moments:
            moments[max(0, bisect_right(starts, note.start or 0) - 1)].notes.append(note)
    rounds = sheet.round_clock
    if not (rounds and transcript.timed and sheet.narration == "live"):
        return list(moments)
    page: list[Moment | Bell] = []
    before: str | None = None
    for moment in moments:
        footage = transcript.playback.footage(moment.start) if transcript.playback else moment.start
        if footage is not None and (now := _bell(rounds, footage)) != before:
            page.append(Bell(now))
            before = now
        page.append(moment)
    return page


def _bell(rounds: Rounds, footage_ms: int) -> str:
    number = rounds.at(footage_ms)
    if number is not None:
        return f"Round {number}"
    return "Before the first bell" if footage_ms < rounds.first_ms else "Rest"


def _moments(transcript: Transcript, note_starts: set[int | None], sheet: Sheet) -> Iterator[Moment]:
    moment: Moment | None = None
    sentences = index = ended = 0
    for segment in transcript.segments:
        aside = any(start <= (segment.start_ms + segment.end_ms) / 2 < end for start, end in sheet.not_coach_ms)
        opens_note = any(word_start in note_starts for word_start in _starts(segment))
        if (
            moment is None
            or segment.start_ms - ended >= _PAUSE_MS
            or sentences >= _MOST_SENTENCES
            or aside != moment.not_coach
            or (opens_note and sentences > 0)
        ):
            if moment:
                yield moment
            shown = clock(segment.start_ms) if transcript.timed else ""
            moment, sentences = Moment(segment.start_ms, shown, index, not_coach=aside), 0
        words = spoken_words(segment)
        moment.words += words
        index += len(words)
        sentences, ended = sentences + 1, segment.end_ms
    if moment:
        yield moment


def _starts(segment: Segment) -> list[int]:
    return [segment.start_ms, *(w.start_ms for w in segment.words)]
