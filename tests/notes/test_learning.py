"""Learning from the corrections of a home."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from pigeons import NEW, SAID
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive import leftovers
from notes.archive.archive import Archive
from notes.archive.correcting import add_note, correct
from notes.archive.forget import forget
from notes.archive.somebody import somebody
from notes.extract import read
from notes.learning import corrected, corrections_in, learn
from notes.lesson import Lesson
from notes.model import Observation
from notes.reading.second.club import Club, club_of, go_back
from notes.reading.second.reader import SecondReader, second_reader
from notes.settings import CLUB, CLUB_BEFORE
from notes.speech.transcripts import transcript_json

DAY = date(2031, 3, 14)


@pytest.fixture(autouse=True)
def _cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leftovers, "cache_folder", lambda: tmp_path / "cache")


def fault_of(second: SecondReader, vocabulary: Lexicon, said: str) -> Observation:
    """The likeliest fault read in a sentence, logged or offered."""
    reading = read(talk(said), sheet(), vocabulary, "new.vtt", "new", second)
    return next(o for o in (*reading.observations, *reading.perhaps) if o.kind == "fault")


def teach(home: Path, vocabulary: Lexicon, second: SecondReader, faults: list[str]) -> Lesson:
    """One review with the picture for each fault, amended to that; then learn."""
    with Archive(home) as archive:
        for i, fault in enumerate(faults):
            heard, name = talk(SAID[i % len(SAID)]), f"{home.name}-{i}"
            reading = read(heard, sheet(), vocabulary, f"{name}.vtt", name, second)
            archive.add(reading, sheet(), DAY, None, transcript_json(heard))
            note = next(o for o in (*reading.observations, *reading.perhaps) if o.kind == "fault")
            correct(archive, vocabulary, [note.id], "amended", {"faults": (fault,)})
        return learn(archive, vocabulary, second)


def taught(vocabulary: Lexicon, home: Path) -> SecondReader:
    reader = second_reader(vocabulary, home)
    assert reader
    return reader


def test_consistent_amendments_change_the_id_and_undo_brings_it_back(
    home: Path, vocabulary: Lexicon, second: SecondReader
) -> None:
    before = fault_of(second, vocabulary, NEW)
    assert before.faults != ("staying-down",)

    lesson = teach(home, vocabulary, second, ["staying-down"] * 8)

    assert lesson.recordings == 8 and lesson.verdicts == {"amended": 8}
    assert "fault" in [part.name for part in lesson.parts if part.taken]
    after = taught(vocabulary, home)
    assert fault_of(after, vocabulary, NEW).faults == ("staying-down",)
    assert fault_of(after, vocabulary, "Your chin's up in the air.").faults == ("chin-up",), "what is known stays"
    assert after.sha256 != second.sha256

    assert go_back(home) is False
    restored = taught(vocabulary, home)
    assert restored.sha256 == second.sha256
    assert fault_of(restored, vocabulary, NEW) == before
    assert go_back(home) is None


def test_without_corrections_nothing_is_learned(home: Path, vocabulary: Lexicon, second: SecondReader) -> None:
    lesson = teach(home, vocabulary, second, [])

    assert lesson.club is None and [part.figures for part in lesson.parts] == [None] * 4
    assert not (home / CLUB).exists()


def test_what_reads_held_back_corrections_no_better_is_refused_with_figures(
    home: Path, vocabulary: Lexicon, second: SecondReader
) -> None:
    with Archive(home) as archive:
        for i, said in enumerate(["You kicked with nothing in front of it, that low kick."] * 6):
            heard = talk(said)
            reading = read(heard, sheet(), vocabulary, f"{i}.vtt", f"{i}", second)
            archive.add(reading, sheet(), DAY, None, transcript_json(heard))
            correct(archive, vocabulary, [o.id for o in reading.observations], "kept")
        lesson = learn(archive, vocabulary, second)

    fault = next(part for part in lesson.parts if part.name == "fault")
    assert fault.figures and fault.figures.right_before == fault.figures.count == 6 and not fault.taken
    assert lesson.club is None and not (home / CLUB).exists()


def test_a_note_that_was_added_where_nothing_was_read_teaches(
    home: Path, vocabulary: Lexicon, second: SecondReader
) -> None:
    with Archive(home) as archive:
        heard = talk("Lovely jab.", "Okay, let it run on a bit.")
        reading = read(heard, sheet(), vocabulary, "one.vtt", "one", second)
        archive.add(reading, sheet(), DAY, None, transcript_json(heard))
        like = fault_of(second, vocabulary, NEW)
        add_note(
            archive, vocabulary, "one", replace(like, start_ms=4_000, end_ms=7_000, quote="Okay, let it run on a bit.")
        )
        (found,) = corrections_in(archive, corrected(archive)[0], 0, vocabulary, second)[0]

    assert (found.kind, found.right, found.features) == ("fault", True, None)
    assert found.named["fault"].chosen == frozenset(like.faults)


def test_an_opponents_note_teaches_nothing(home: Path, vocabulary: Lexicon, second: SecondReader) -> None:
    with Archive(home) as archive:
        heard = talk("Devon's chin is up in the air.", "He's leaning back.")
        reading = read(heard, sheet(), vocabulary, "one.vtt", "one", second)
        archive.add(reading, sheet(), DAY, None, transcript_json(heard))
        theirs = [o.id for o in reading.observations if o.role == "opponent"]
        assert theirs
        correct(archive, vocabulary, theirs, "struck")
        lesson = learn(archive, vocabulary, second)

    assert [part.count for part in lesson.parts] == [0, 0, 0, 0]


def test_the_one_before_is_kept_and_the_same_again_is_not_new(home: Path) -> None:
    home.mkdir()
    first, newer = (Club("x", {"merging": {"bias": np.float32(value)}}) for value in (0.1, 0.2))
    for club in (first, newer, newer):
        club.keep(home)

    assert go_back(home) is True
    kept = club_of(home, "x")
    assert kept and kept.sha256 == first.sha256
    assert go_back(home) is False and not (home / CLUB_BEFORE).exists()


@pytest.mark.parametrize("harm", ["cut", "text", "numbers", "foreign"])
def test_a_file_that_cannot_be_used_is_said_and_not_used(
    home: Path, vocabulary: Lexicon, second: SecondReader, harm: str, capsys: pytest.CaptureFixture[str]
) -> None:
    home.mkdir()
    vector = np.full(192, np.nan if harm == "numbers" else 1.0, np.float32)
    Club("other" if harm == "foreign" else second.shipped_sha256, {"fault": {"chin-up": vector}}).keep(home)
    path = home / CLUB
    if harm == "cut":
        path.write_bytes(path.read_bytes()[:200])
    elif harm == "text":
        path.write_text("pigeons")

    assert taught(vocabulary, home).sha256 == second.sha256
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and str(path) in said and "tapeside learn" in said


def test_an_id_that_the_vocabulary_has_lost_does_not_matter(
    home: Path, vocabulary: Lexicon, second: SecondReader
) -> None:
    home.mkdir()
    Club(second.shipped_sha256, {"fault": {"gone-from-here": np.ones(192, np.float32)}}).keep(home)

    said = "Your chin's up in the air."
    assert fault_of(taught(vocabulary, home), vocabulary, said) == fault_of(second, vocabulary, said)


def test_what_was_learned_goes_with_who_is_forgotten(home: Path, vocabulary: Lexicon, second: SecondReader) -> None:
    teach(home, vocabulary, second, ["staying-down"] * 8)
    assert (home / CLUB).exists()
    with Archive(home) as archive:
        forget(archive, somebody(archive, "Mara"))

    assert not (home / CLUB).exists() and not (home / CLUB_BEFORE).exists()


def test_no_word_of_the_talk_is_kept(home: Path, vocabulary: Lexicon, second: SecondReader) -> None:
    teach(home, vocabulary, second, ["staying-down"] * 8)

    data = (home / CLUB).read_bytes().replace(b"\0", b"").lower()
    assert b"staying-down" in data
    for word in (b"mara", b"devon", b"pigeon"):
        assert word not in data
