"""How much was watched, and how that is known."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reviews import sheet, talk

from lexicon import Lexicon
from notes.archive.archive import Archive
from notes.archive.exposure import Watched, exposure, together, watched, watched_of
from notes.extract import read
from notes.speech.transcripts import transcript_json
from notes.times import Played, TimeMap

ROUNDS = {"length": 180, "rest": 60, "first_starts_at": 5}
DAY = date(2031, 3, 14)
MINUTE = 60_000


@pytest.mark.parametrize(
    ("keys", "end_ms", "spoken_of", "rounds", "by"),
    [
        ({"rounds": ROUNDS}, 425_000, (), 2.0, "clock"),
        ({"rounds": ROUNDS}, 335_000, (), 1.5, "clock"),
        ({"rounds": ROUNDS}, 3_000, (1, 2), 2.0, "word"),
        ({"rounds": ROUNDS, "narration": "memo"}, 425_000, (1, 2, 5), 3.0, "word"),
        ({}, 425_000, (1, 2, 3), 3.0, "word"),
        ({}, 425_000, (), None, None),
        ({"rounds": ROUNDS}, None, (), None, None),
    ],
)
def test_rounds_are_known_by_the_clock_or_by_word_or_not(keys, end_ms, spoken_of, rounds, by) -> None:
    found = watched("one", DAY, sheet(**keys), end_ms, None, spoken_of)

    assert (found.rounds, found.rounds_by) == (rounds, by)
    assert found.minutes == (end_ms / MINUTE if end_ms else None)


def test_footage_that_was_paused_is_watched_as_far_as_it_ran() -> None:
    paused = TimeMap((Played(0, 0, 1.0), Played(95_000, 95_000, 0.0)))

    assert watched("one", DAY, sheet(rounds=ROUNDS), 600_000, paused, ()).rounds == 0.5


def recording(name: str, day: int, rounds: int | None, minutes: float | None) -> Watched:
    by_round = dict.fromkeys(range(1, (rounds or 0) + 1), 1.0)
    return Watched(frozenset({name}), date(2031, 3, day), by_round, "clock" if rounds else None, minutes)


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

    assert found == [[Watched(frozenset({"one"}), DAY, {1: 1.0, 2: pytest.approx(0.9)}, "clock", 19 / 60)]] * 2


def by_round(clock: float | None = None, spoken_of: tuple[int, ...] = (), minutes: int = 10) -> Watched:
    """One recording of rounds of three minutes, live up to `clock` rounds, or a memo."""
    facts = sheet(rounds={"length": 180, "rest": 0}, narration="memo" if clock is None else "live")
    end = minutes * MINUTE if clock is None else round(clock * 180_000)
    return watched(f"{clock} {spoken_of}", DAY, facts, end, None, spoken_of)


@pytest.mark.parametrize(
    ("recordings", "rounds", "by"),
    [
        ([by_round(2.0), by_round(spoken_of=(1, 2))], 2.0, "clock"),
        ([by_round(2.0), by_round(1.5)], 2.0, "clock"),
        ([by_round(2.0), by_round(spoken_of=(2, 3))], 3.0, "word"),
        ([by_round(1.5), by_round(spoken_of=(2,))], 2.0, "word"),
        ([by_round(spoken_of=(1, 3)), by_round(spoken_of=(3, 4))], 3.0, "word"),
        ([by_round(), by_round(spoken_of=(1,))], 1.0, "word"),
        ([by_round(), by_round()], None, None),
    ],
)
def test_a_round_told_of_by_several_recordings_is_watched_once(recordings, rounds, by) -> None:
    found = together(recordings)

    assert (found.rounds, found.rounds_by) == (rounds, by)


reviews = st.lists(
    st.one_of(
        st.builds(by_round, clock=st.floats(0.1, 6)),
        st.builds(by_round, spoken_of=st.sets(st.integers(1, 6)).map(tuple), minutes=st.integers(1, 30)),
    ),
    min_size=1,
    max_size=4,
)


@given(reviews, st.randoms())
def test_one_more_review_never_takes_watching_away_nor_adds_more_than_its_own(told, chance) -> None:
    whole, first = together(told), together(told[:1])
    rest = [w.rounds or 0 for w in told[1:]]
    minutes = max(w.minutes for w in told)
    chance.shuffle(told)

    assert (first.rounds or 0) <= (whole.rounds or 0) <= (first.rounds or 0) + sum(rest) + 1e-9
    assert whole.minutes == minutes
    assert together(told) == together([*told, told[0]]) == whole
