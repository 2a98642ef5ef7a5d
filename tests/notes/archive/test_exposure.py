"""How much was watched, and how that is known."""

from datetime import date

import pytest
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.exposure import Watched, exposure, watched, watched_of
from notes.extract import read
from notes.speech.transcripts import transcript_json
from notes.times import Played, TimeMap

ROUNDS = {"length": 180, "rest": 60, "first_starts_at": 5}
DAY = date(2031, 3, 14)
MINUTE = 60_000


@pytest.mark.parametrize(
    ("keys", "end_ms", "spoken_of", "rounds", "by"),
    [
        ({"rounds": ROUNDS}, 425_000, 0, 2.0, "clock"),
        ({"rounds": ROUNDS}, 335_000, 0, 1.5, "clock"),
        ({"rounds": ROUNDS}, 3_000, 2, 2.0, "word"),
        ({"rounds": ROUNDS, "narration": "memo"}, 425_000, 3, 3.0, "word"),
        ({}, 425_000, 3, 3.0, "word"),
        ({}, 425_000, 0, None, None),
        ({"rounds": ROUNDS}, None, 0, None, None),
    ],
)
def test_rounds_are_known_by_the_clock_or_by_word_or_not(keys, end_ms, spoken_of, rounds, by) -> None:
    found = watched("one", DAY, sheet(**keys), end_ms, None, spoken_of)

    assert (found.rounds, found.rounds_by) == (rounds, by)
    assert found.minutes == (end_ms / MINUTE if end_ms else None)


def test_footage_that_was_paused_is_watched_as_far_as_it_ran() -> None:
    paused = TimeMap((Played(0, 0, 1.0), Played(95_000, 95_000, 0.0)))

    assert watched("one", DAY, sheet(rounds=ROUNDS), 600_000, paused, 0).rounds == 0.5


def recording(name: str, day: int, rounds: float | None, minutes: float | None) -> Watched:
    return Watched(name, date(2031, 3, day), rounds, "clock" if rounds else None, minutes)


def test_rounds_are_the_unit_where_half_the_recordings_have_them() -> None:
    found = exposure([recording("one", 1, 3, 12), recording("two", 1, 2, 8), recording("three", 8, None, 9)])

    assert (found.unit, found.amounts, found.total, found.left_out) == ("round", (5, 0), 5, 1)
    assert found.counted == {"one", "two"}
    assert found.summary == "5 rounds watched (1 recording of unknown rounds left out)"


def test_minutes_are_the_unit_where_rounds_are_mostly_unknown() -> None:
    found = exposure([recording("one", 1, 3, 12), recording("two", 2, None, 8), recording("three", 8, None, None)])

    assert (found.unit, found.amounts, found.left_out) == ("minute", (12, 8, 0), 1)
    assert found.summary == "20 minutes of talk (1 recording of unknown minutes left out)"


def test_nothing_known_is_said_so() -> None:
    assert exposure([recording("one", 1, None, None)]).summary == "how much was watched is unknown"


def test_an_archive_tells_what_was_watched_of_everybody_on_the_sheet(home, vocabulary: Lexicon) -> None:
    facts = sheet(rounds={"length": 10, "rest": 0}, athletes=[{"name": "Mara"}, {"name": "Nora"}])
    heard = talk("You're leaning back.", "He circles.", "Good.", "Good jab.", "Lovely long teep.")
    with Archive(home) as archive:
        archive.add(read(heard, facts, vocabulary, "one.vtt", "one"), facts, DAY, None, transcript_json(heard))
        found = [watched_of(archive, archive.athlete(name)) for name in ("Mara", "Nora")]

    assert found == [[Watched("one", DAY, 1.9, "clock", 19 / 60)]] * 2
