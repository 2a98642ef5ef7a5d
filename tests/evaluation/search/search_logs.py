"""Logs filled with ready-made observations, a session a recording."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby

from judged import corpus_notes

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.model import Observation, Reading, Segment, Transcript
from notes.sheet import Sheet

FIRST_DAY = date(2031, 1, 6)


@dataclass(frozen=True)
class Session:
    """What was logged of a recording."""

    recording: str
    day: date
    observations: tuple[Observation, ...]

    @property
    def reading(self) -> Reading:
        """As the archive takes it; the observations carry their ids."""
        said = tuple(Segment(o.start_ms, o.end_ms, o.quote) for o in self.observations)
        return Reading(self.recording, self.recording, Transcript(said, "made up"), "made up", self.observations)

    @property
    def sheet(self) -> Sheet:
        """The athletes spoken of."""
        names = sorted({o.athlete for o in self.observations})
        return Sheet.model_validate({"sport": "mma", "athletes": [{"name": name} for name in names]})


def corpus_sessions() -> Iterator[Session]:
    """The gold observations of the corpus, a review a session, a review a day. An id is the note's place."""
    notes = [(note.recording, replace(note.observation, id=str(i))) for i, note in enumerate(corpus_notes())]
    for number, (recording, group) in enumerate(groupby(notes, key=lambda note: note[0])):
        yield Session(recording, FIRST_DAY + timedelta(days=number), tuple(o for _, o in group))


def keep(archive: Archive, sessions: Iterable[Session], lexicon: Lexicon) -> None:
    """Add sessions to a log as `tapeside add` does."""
    for session in sessions:
        archive.add(session.reading, session.sheet, session.day, None, {})
