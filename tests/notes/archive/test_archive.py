"""The log: real SQLite files."""

import sqlite3
from datetime import date
from pathlib import Path

import pytest
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.search import Filters, search
from notes.errors import UnknownAthlete
from notes.extract import read
from notes.sheet import Sheet
from notes.speech.transcripts import transcript_json

DAY = date(2031, 3, 14)


def add(
    archive: Archive, vocabulary: Lexicon, sha256: str, *said: str, day: date = DAY, facts: Sheet | None = None
) -> None:
    facts, heard = facts or sheet(), talk(*said)
    reading = read(heard, facts, vocabulary, f"{sha256}.vtt", sha256)
    archive.add(reading, facts, day, None, transcript_json(heard))


def test_what_is_kept_comes_back_whole(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(
            archive,
            vocabulary,
            "one",
            "You kicked with nothing in front of it, that low kick.",
            "Set it up with the jab.",
        )
        (kept,) = archive.observations_of(archive.athlete("Mara"))

    expected = read(
        talk("You kicked with nothing in front of it, that low kick.", "Set it up with the jab."),
        sheet(),
        vocabulary,
        "one.vtt",
        "one",
    ).observations
    assert kept.observation == expected[0]


def test_a_failure_half_way_keeps_nothing(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.")
        with pytest.raises(sqlite3.IntegrityError):
            add(archive, vocabulary, "one", "You're leaning back.")
        counts = [archive.db.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in ("recording", "observation")]

    assert counts == [1, 1]


def test_an_alias_is_the_same_person(home: Path, vocabulary: Lexicon) -> None:
    by_alias = sheet(athletes=[{"name": "Mo", "stance": "orthodox"}])
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.")
        add(archive, vocabulary, "two", "Your chin is in the air.", facts=by_alias)

        assert len(archive.observations_of(archive.athlete("mara"))) == 2
        assert archive.athlete("MO").name == "Mara"


def test_a_person_first_known_by_an_alias_is_found_by_the_name_too(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.", facts=sheet(athletes=[{"name": "Mo"}]))
        add(archive, vocabulary, "two", "Your chin is in the air.")

        assert archive.athlete("Mara") == archive.athlete("Mo")
        assert len(archive.observations_of(archive.athlete("Mara"))) == 2


def test_an_unknown_athlete_is_answered_with_the_nearest(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "You're leaning back.")

        with pytest.raises(UnknownAthlete, match='did you mean "Mara"'):
            archive.athlete("Marra")


def test_the_opponents_and_the_coachs_are_in_nobodys_log(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as archive:
        add(archive, vocabulary, "one", "Devon is leaning back.", "Watch me, I'm leaning back.")

        assert archive.observations_of(archive.athlete("Mara")) == []


def test_two_writers_do_not_lose_anything(home: Path, vocabulary: Lexicon) -> None:
    with Archive(home) as one, Archive(home) as other:
        add(one, vocabulary, "one", "You're leaning back.")
        add(other, vocabulary, "two", "You're leaning back.")

        assert len(one.observations_of(one.athlete("Mara"))) == 2


@pytest.fixture
def library(home: Path, vocabulary: Lexicon) -> Archive:
    archive = Archive(home)
    add(archive, vocabulary, "one", "You stayed on the tramlines with the right hand.", "Lovely long teep.")
    add(archive, vocabulary, "two", "Your noggin is in the middle of the road.", day=date(2031, 4, 1))
    return archive


def found(library: Archive, vocabulary: Lexicon, query: str, **filters: object) -> list[str]:
    return [r.kept.recording_sha256 for r in search(library, vocabulary, query, Filters(**filters), 20)]  # type: ignore[arg-type]


def test_a_concept_finds_every_wording_of_it(library: Archive, vocabulary: Lexicon) -> None:
    assert sorted(found(library, vocabulary, "head on centreline")) == ["one", "two"]
    assert sorted(found(library, vocabulary, "head-on-centreline")) == ["one", "two"]


def test_words_and_near_spellings_find(library: Archive, vocabulary: Lexicon) -> None:
    assert found(library, vocabulary, "tramlines") == ["one"]
    assert found(library, vocabulary, "tramlinse") == ["one"]
    assert found(library, vocabulary, "xylophone") == []


def test_filters_narrow(library: Archive, vocabulary: Lexicon) -> None:
    assert found(library, vocabulary, "head on centreline", since=date(2031, 3, 20)) == ["two"]
    assert found(library, vocabulary, "teep", kind="strength") == ["one"]
    assert found(library, vocabulary, "teep", kind="fault") == []


def test_accents_and_curly_quotes_do_not_matter(library: Archive, vocabulary: Lexicon) -> None:
    assert found(library, vocabulary, "“téep”") == ["one"]
