"""The notes of a review, as they stand in its margin."""

from lexicon import Lexicon
from notes.archive.archive import Archive, Kept
from notes.archive.entries import is_timed
from notes.archive.recordings import Recording
from notes.desk.notes import Note, note_of
from notes.model import Observation


def margin(archive: Archive, lexicon: Lexicon, recording: Recording) -> list[Note]:
    """Entries of the athletes, struck ones too, and what is only offered; in spoken order."""
    entries = [k for k in archive.observations_in(recording.sha256) if k.observation.role == "athlete"]
    names = inks(recording, [k.observation for k in entries])
    notes = [note_of(kept, lexicon, names) for kept in entries]
    timed = is_timed(archive.db, recording.sha256)
    for o in archive.perhaps_in(recording.sha256):
        if o.role == "athlete":
            offered = Kept(o, recording.name, recording.sha256, recording.day, timed)
            notes.append(note_of(offered, lexicon, names, perhaps=True))
    return sorted(notes, key=lambda note: (note.start or 0, note.end or 0, note.id))


def note_in(archive: Archive, lexicon: Lexicon, recording: Recording, name: str) -> Note | None:
    """One note of a review by its id."""
    return next((note for note in margin(archive, lexicon, recording) if note.id == name), None)


def inks(recording: Recording, observations: list[Observation]) -> list[str]:
    """Names in the order of their inks: the sheet's athletes, then who was named by a correction."""
    told = [o.athlete for o in observations]
    return list(dict.fromkeys([*(athlete.name for athlete in recording.sheet.athletes), *told]))
